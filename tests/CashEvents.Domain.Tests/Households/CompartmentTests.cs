using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Households;

public class CompartmentTests
{
    private static ChangeCompartment Change(string compartment, string? label = null, string? wallet = null,
        bool? closed = null) => new(compartment, label, wallet, closed);

    [Fact]
    public void A_household_has_so_many_in_use_and_no_more()
    {
        var known = Given().Book.Compartments.Count;
        IBookEvent[] others = [.. Enumerable.Range(known, OpenCompartment.Most - known)
            .Select(n => new CompartmentOpened($"purpose-{n}", $"Purpose {n}", Given().Book.Wallets.Keys.First(),
                Purpose.Spending))];
        var another = new OpenCompartment("One more", Given().Book.Wallets.Keys.First(), Purpose.Spending);

        Given(others).When(another).ThenRefused("too-many");
        Given([.. others, new CompartmentClosed($"purpose-{known}")]).When(another)
            .Then(new CompartmentOpened("one-more", "One more", another.Wallet, Purpose.Spending));
        Given([.. others, new CompartmentClosed($"purpose-{known}"),
            new CompartmentOpened("one-more", "One more", another.Wallet, Purpose.Spending)])
            .When(new ChangeCompartment($"purpose-{known}", null, null, Closed: false)).ThenRefused("too-many");
    }

    [Fact]
    public void A_compartment_gets_its_id_from_its_label() =>
        Given().When(new OpenCompartment(" Café on the quay ", "strongbox", Purpose.Saving))
            .Then(new CompartmentOpened("cafe-on-the-quay", "Café on the quay", "strongbox", Purpose.Saving));

    [Theory]
    [InlineData("Ferry fares")]
    [InlineData("FERRY—FARES!")]
    [InlineData("Férry farés")]
    public void An_id_is_used_once(string label) =>
        Given().When(new OpenCompartment(label, "strongbox", Purpose.Saving)).ThenRefused("compartment-taken", "label");

    [Fact]
    public void The_id_of_a_closed_compartment_stays_taken() =>
        Given(new CompartmentClosed(Ferry)).When(new OpenCompartment("Ferry fares", "strongbox", Purpose.Saving))
            .ThenRefused("compartment-taken", "label");

    [Fact]
    public void A_compartment_may_have_the_id_of_a_wallet() =>
        Given().When(new OpenCompartment("Strongbox", "strongbox", Purpose.Saving))
            .Then(new CompartmentOpened("strongbox", "Strongbox", "strongbox", Purpose.Saving));

    [Fact]
    public void A_label_has_letters_or_digits_is_bounded_and_on_one_line()
    {
        Given().When(new OpenCompartment("!!!", "strongbox", Purpose.Saving))
            .ThenRefused("label-without-letters", "label");
        Given().When(new OpenCompartment(" ", "strongbox", Purpose.Saving)).ThenRefused("words-missing", "label");
        Given().When(new OpenCompartment(new string('a', 81), "strongbox", Purpose.Saving))
            .ThenRefused("words-too-long", "label");
        Given().When(new OpenCompartment("a\u202Eb", "strongbox", Purpose.Saving))
            .ThenRefused("words-unprintable", "label");
    }

    [Fact]
    public void Its_wallet_is_known() =>
        Assert.Equal(["strongbox"],
            Given().When(new OpenCompartment("Rain day", "strong-box", Purpose.Saving))
                .ThenRefused("wallet-unknown", "wallet").Suggestions);

    [Fact]
    public void A_new_label_keeps_the_id_and_the_money()
    {
        var asked = Given(Fill(Ferry, 40m)).When(Change(Ferry, label: " Island ferry "));
        var relabelled = asked.Then(new CompartmentRelabelled(Ferry, "Island ferry")).Book.Compartments[Ferry];

        Assert.Equal((Ferry, "Island ferry", Eur(40m)), (relabelled.Id, relabelled.Label, relabelled.Cash));
    }

    [Fact]
    public void A_compartment_moves_to_another_wallet_with_all_that_is_in_it()
    {
        var asked = Given(Fill(Ferry, 40m)).When(Change(Ferry, wallet: "strongbox"));
        var moved = asked.Then(new CompartmentMoved(Ferry, "strongbox")).Book.Compartments[Ferry];

        Assert.Equal(("strongbox", Eur(40m)), (moved.Wallet, moved.Cash));
    }

    [Fact]
    public void An_unknown_wallet_is_refused() =>
    Given().When(Change(Ferry, wallet: "satchel")).ThenRefused("wallet-unknown", "wallet");

    [Fact]
    public void A_bad_label_is_refused() =>
    Given().When(Change(Ferry, label: "two\nlines")).ThenRefused("words-unprintable", "label");

    [Theory]
    [InlineData(Holding.Cash)]
    [InlineData(Holding.Bank)]
    public void Only_an_empty_compartment_is_closed(Holding holding)
    {
        var refusal = Given(Fill(Ferry, 0.01m, holding: holding)).When(Change(Ferry, closed: true))
            .ThenRefused("compartment-not-empty", "closed");

        Assert.Equal(RefusalSort.Conflict, refusal.Sort);
        Assert.Contains("0.01 EUR", refusal.Detail);
    }

    [Fact]
    public void An_empty_compartment_is_closed_and_reopened()
    {
        var closed = Given(Fill(Ferry, 5m), Spend(Ferry, 5m)).When(Change(Ferry, closed: true))
            .Then(new CompartmentClosed(Ferry));
        Assert.True(closed.Book.Compartments[Ferry].Closed);

        var reopened = closed.When(Change(Ferry, closed: false)).Then(new CompartmentReopened(Ferry));
        Assert.False(reopened.Book.Compartments[Ferry].Closed);
    }

    [Fact]
    public void What_is_so_already_writes_no_line()
    {
        Given().When(Change(Ferry)).ThenNothing();
        Given().When(Change(Ferry, label: "Ferry fares ", wallet: "market-bag", closed: false)).ThenNothing();
        Given(new CompartmentClosed(Ferry)).When(Change(Ferry, closed: true)).ThenNothing();
    }

    [Fact]
    public void Several_changes_are_a_line_each() =>
        Given().When(Change(Ferry, "Island ferry", "strongbox", true))
            .Then(new CompartmentRelabelled(Ferry, "Island ferry"), new CompartmentMoved(Ferry, "strongbox"),
                new CompartmentClosed(Ferry));

    [Fact]
    public void An_unknown_compartment_is_not_found_and_the_nearest_is_named_even_if_closed()
    {
        var refusal = Given(new CompartmentClosed(Ferry)).When(Change("fery-fares", closed: false))
            .ThenRefused("compartment-unknown");

        Assert.Equal(RefusalSort.NotFound, refusal.Sort);
        Assert.Equal([Ferry], refusal.Suggestions);
    }
}
