using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Custody;

public class PlaceTests
{
    private static readonly string[] _both = ["market-bag", "strongbox"];

    private static SetPlace Set(string id, string label, params string[] wallets) => new(id, label, true, wallets);

    private static PlaceSet Lies(string id, string label, DateOnly since, params string[] wallets) =>
        new(id, label, true, [.. wallets], since);

    private static string[] Told(Book book) =>
        [.. Whereabouts.Lying(book)
            .Select(p => $"{p.Place?.Label}: "
                + string.Join(", ",
                    p.Wallets.Select(w => $"{w.Wallet.Id} {w.Amount.Minor} {w.Wallet.LiesIn?.Since:MM-dd}")))];

    [Fact]
    public void A_wallet_lies_in_one_place_since_the_day_on_which_it_was_said()
    {
        var first = Given(Fill(Ferry, 40m), Fill(Boat, 9m)).When(Set("kitchen-safe", "Kitchen safe", _both), Sept(2))
            .Then(Lies("kitchen-safe", "Kitchen safe", Sept(2), _both));
        Assert.Equal(["Kitchen safe: market-bag 4000 09-02, strongbox 900 09-02"], Told(first.Book));

        var moved = first.When(Set("boat-locker", "Boat locker", "strongbox"), Sept(9))
            .Then(Lies("boat-locker", "Boat locker", Sept(9), "strongbox"));
        Assert.Equal(["Boat locker: strongbox 900 09-09", "Kitchen safe: market-bag 4000 09-02"], Told(moved.Book));

        // Named anew, what lay there lies there since the same day; what is left out lies in no place.
        var renamed = moved.When(Set("kitchen-safe", "Pantry safe", "market-bag"), Sept(10))
            .Then(Lies("kitchen-safe", "Pantry safe", Sept(10), "market-bag"));
        var emptied = renamed.When(Set("boat-locker", "Boat locker"), Sept(11))
            .Then(Lies("boat-locker", "Boat locker", Sept(11)));
        Assert.Equal(["Pantry safe: market-bag 4000 09-02", ": strongbox 900 "], Told(emptied.Book));
    }

    [Fact]
    public void What_is_set_like_this_already_is_not_written_again()
    {
        var given = Given(Lies("kitchen-safe", "Kitchen safe", Sept(2), _both));

        given.When(Set("kitchen-safe", "Kitchen safe", "strongbox", "market-bag")).ThenNothing();
        given.When(new SetPlace("kitchen-safe", "Kitchen safe", AtHome: false, _both))
            .Then(new PlaceSet("kitchen-safe", "Kitchen safe", false, [.. _both], Today));
    }

    [Fact]
    public void A_place_in_which_nothing_lies_is_removed()
    {
        var removed = Given(Lies("kitchen-safe", "Kitchen safe", Sept(2), _both),
            Lies("boat-locker", "Boat locker", Sept(3)))
            .When(new RemovePlace("boat-locker")).Then(new PlaceRemoved("boat-locker"));

        Assert.Equal(["kitchen-safe"], removed.Book.Places.Keys);
        removed.When(new RemovePlace("boat-locker")).ThenRefused("place-unknown");
        removed.When(Set("boat-locker", "Boat locker", "strongbox"))
            .Then(Lies("boat-locker", "Boat locker", Today, "strongbox"));
    }

    [Fact]
    public void A_place_in_which_something_lies_stays_and_the_refusal_names_it()
    {
        var refusal = Given(Lies("kitchen-safe", "Kitchen safe", Sept(2), _both)).When(new RemovePlace("kitchen-safe"))
            .ThenRefused("place-in-use");

        Assert.Equal(RefusalSort.Conflict, refusal.Sort);
        Assert.Contains("market-bag, strongbox", refusal.Detail);
        Assert.Equal(["kitchen-safe"],
            Given(Lies("kitchen-safe", "Kitchen safe", Sept(2), _both)).When(new RemovePlace("kitchen-saf"))
                .ThenRefused("place-unknown").Suggestions);
    }

    [Fact]
    public void What_can_not_be_a_place_is_refused()
    {
        Given().When(Set("Kitchen Safe", "Kitchen safe")).ThenRefused("id-unreadable", "id");
        Given().When(Set("kitchen-safe", " ")).ThenRefused("words-missing", "label");
        Given().When(Set("kitchen-safe", "Kitchen safe", "market-bag", "strongbx"))
            .ThenRefused("wallet-unknown", "wallets[1]");
        Given().When(Set("kitchen-safe", "Kitchen safe", "strongbox", "market-bag", "strongbox"))
            .ThenRefused("wallet-twice", "wallets[2]");
        Given([.. Enumerable.Range(1, SetPlace.Most).Select(n => Lies($"shelf-{n}", "Shelf", Today))])
            .When(Set("shelf-51", "Shelf")).ThenRefused("too-many");
    }
}
