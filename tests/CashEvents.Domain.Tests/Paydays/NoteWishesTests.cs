using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class NoteWishesTests
{
    private static WishNotes Wish(decimal[]? prefer = null, decimal[]? avoid = null,
        Dictionary<string, long>? atLeast = null) => new(Ferry, prefer, avoid, atLeast);

    private static readonly NotesWished _wished = new(Ferry, [Eur(10m), Eur(5m)], [Eur(50m)], [new Pieces(Eur(5m), 4)]);

    [Fact]
    public void A_compartment_prefers_avoids_and_needs_notes()
    {
        var after = Given().When(Wish([5m, 10m], [50.00m], new() { ["5"] = 4, ["1"] = 0 })).Then(_wished);

        after.When(Wish([10m, 5m], [50m], new() { ["5"] = 4 })).ThenNothing();
        after.When(Wish()).Then(new NotesWished(Ferry, [], [], []));
    }

    [Fact]
    public void Wishing_nothing_where_nothing_was_wished_writes_nothing() => Given().When(Wish()).ThenNothing();

    [Fact]
    public void A_value_is_not_both_avoided_and_wished_for()
    {
        Given().When(Wish([5m], [5m])).ThenRefused("wishes-contradict", "avoid");
        Given().When(Wish(avoid: [5m], atLeast: new() { ["5"] = 1 })).ThenRefused("wishes-contradict", "avoid");
    }

    [Fact]
    public void Values_are_those_of_the_currency_and_written_once()
    {
        Given().When(Wish([10m, 25m])).ThenRefused("denomination-unknown", "prefer[1]");
        Given().When(Wish(avoid: [50m, 50.0m])).ThenRefused("denomination-twice", "avoid[1]");
        Given().When(Wish(atLeast: new() { ["5"] = -1 })).ThenRefused("pieces-out-of-range", "atLeast.5");
    }

    [Fact]
    public void An_unknown_compartment_has_no_wishes() =>
    Given().When(Wish() with { Compartment = "ferry-fare" }).ThenRefused("compartment-unknown");

    [Fact]
    public void Wishes_that_contents_do_not_meet_are_named()
    {
        var wishes = new NoteWishes([Eur(10m), Eur(5m)], [Eur(50m)], [new Pieces(Eur(5m), 4)]);

        Assert.Empty(wishes.UnmetBy([new Pieces(Eur(10m), 2), new Pieces(Eur(5m), 4), new Pieces(Eur(2m), 1)]));
        Assert.Equal(
            [new UnmetWish(NoteWish.AtLeast, Eur(5m), 3), new UnmetWish(NoteWish.Avoid, Eur(50m), 1),
                new UnmetWish(NoteWish.Prefer, Eur(20m), 2)],
            wishes.UnmetBy([new Pieces(Eur(50m), 1), new Pieces(Eur(20m), 2), new Pieces(Eur(5m), 1),
                new Pieces(Eur(2m), 1)]));
    }
}
