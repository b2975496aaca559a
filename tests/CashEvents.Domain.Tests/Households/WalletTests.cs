using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Households;

public class WalletTests
{
    [Fact]
    public void A_wallet_gets_its_id_from_its_label_and_its_place_from_its_line()
    {
        var opened = Given().When(new OpenWallet(" Oilskin Pouch "))
            .Then(new WalletOpened("oilskin-pouch", "Oilskin Pouch"));

        Assert.Equal(new Wallet("oilskin-pouch", "Oilskin Pouch", FirstLine), opened.Book.Wallets["oilskin-pouch"]);
    }

    [Fact]
    public void A_wallet_can_be_opened_before_the_currency_is_named() =>
    GivenBook().When(new OpenWallet("Strongbox")).Then(new WalletOpened("strongbox", "Strongbox"));

    [Fact]
    public void An_id_is_used_once() =>
    Given().When(new OpenWallet("Market-bag!")).ThenRefused("wallet-taken", "label");

    [Fact]
    public void A_household_has_so_many_and_no_more()
    {
        var all = Given([.. Enumerable.Range(Given().Book.Wallets.Count, OpenWallet.Most - Given().Book.Wallets.Count)
            .Select(n => new WalletOpened($"pouch-{n}", $"Pouch {n}"))]);

        all.When(new OpenWallet("One more")).ThenRefused("too-many");
        var after = Given([new WalletOpened("closed", "Closed"), new WalletClosed("closed"),
            .. all.Book.Wallets.Values.Where(w => w.Label.StartsWith("Pouch ", StringComparison.Ordinal))
                .Select(w => new WalletOpened(w.Id, w.Label))]);
        after.When(new ChangeWallet("closed", null, Closed: false)).ThenRefused("too-many");
    }

    [Fact]
    public void A_label_has_letters_or_digits_is_bounded_and_on_one_line()
    {
        Given().When(new OpenWallet("…")).ThenRefused("label-without-letters", "label");
        Given().When(new OpenWallet("")).ThenRefused("words-missing", "label");
        Given().When(new OpenWallet(new string('a', 81))).ThenRefused("words-too-long", "label");
        Given().When(new OpenWallet("a\nb")).ThenRefused("words-unprintable", "label");
    }
}
