using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Plans;

public class SuggestionTests
{
    private static readonly Week _first = new(new DateOnly(2026, 7, 6));

    // So many spends of the ferry fares, one a week from the first on; the fill stands in the week before or with the
    // first.
    private static IReadOnlyList<WeekSheet> Weeks(params decimal[] spends) => Weeks(_first.First, spends);

    private static IReadOnlyList<WeekSheet> Weeks(DateOnly filled, params decimal[] spends)
    {
        IBookEvent[] lines = [.. Opening, Fill(Ferry, 900m, filled),
            .. spends.Select((s, i) => Spend(Ferry, s, _first.First.AddDays((7 * i) + 6)))];
        var book = lines.Aggregate(Book.Empty, (b, line) => b.Apply(line));
        var slices = WeekSlice.Whole(new Week(_first.First.AddDays(-21)),
            new Week(_first.First.AddDays(7 * (spends.Length - 1))));
        var totals = ColumnTotals.Of(lines.OfType<IMovement>(), [.. slices.Select(s => s.First)], slices[^1].Last);
        return WeekSheet.Of(book, slices, totals, new Dictionary<string, Money>(), Today);
    }

    [Fact]
    public void The_amount_would_have_covered_that_share_of_the_weeks()
    {
        var ferry = Suggestion.Of(Weeks(10m, 20m, 30m, 40m, 50m, 60m, 70m, 80m, 90m, 100m, 110m), 0.8m,
            FirstDays(_first.First))[0];

        Assert.Equal((Ferry, 11), (ferry.Compartment.Id, ferry.Weeks.Count));
        // Eleven weeks: place (11 − 1) × 0.8 + 1 = 9.
        Assert.Equal(Eur(90m), ferry.Amount);
    }

    [Fact]
    public void Weeks_before_the_compartment_had_money_do_not_count_and_idle_ones_after_do() =>
        Assert.Equal([Eur(1m), Eur(0m), Eur(3m)], SuggestionOf(1m, 0m, 3m).Weeks.Select(w => w.Spent));

    [Fact]
    public void A_week_that_began_before_there_was_money_is_no_whole_week()
    {
        // Money came on the Wednesday: what was spent until the Sunday is less than a week's.
        Assert.Equal([Eur(2m), Eur(3m)], SuggestionOf(_first.First.AddDays(2), 1m, 2m, 3m).Weeks.Select(w => w.Spent));
        Assert.Equal([_first], Suggestion.BegunIn(Weeks(_first.First.AddDays(2), 1m, 2m, 3m)).Values);
        // What was there when the week began makes it whole, whenever more came.
        Assert.Empty(Suggestion.BegunIn([.. Weeks(_first.First, 1m, 2m).Skip(4)]));
    }

    [Fact]
    public void Fewer_than_eight_weeks_suggest_nothing()
    {
        Assert.Null(SuggestionOf(1m, 2m, 3m, 4m, 5m, 6m, 7m).Amount);
        Assert.Equal(Eur(6.60m), SuggestionOf(1m, 2m, 3m, 4m, 5m, 6m, 7m, 8m).Amount);
    }

    [Fact]
    public void A_compartment_that_never_had_money_rests_on_no_week() =>
        Assert.Equal((0, null), Suggestion.Of(Weeks(1m, 2m), 0.8m, FirstDays(_first.First))
            .Where(s => s.Compartment.Id == Market).Select(s => (s.Weeks.Count, s.Amount)).Single());

    // R's own help page on quantile types states type 7 as m = 1 − p: the value at place (n − 1)p + 1. The values here
    // are worked by hand from that.
    [Theory]
    [InlineData(0.0, 10)]
    [InlineData(0.25, 33)]
    [InlineData(0.5, 55)]
    [InlineData(0.75, 78)]
    [InlineData(0.8, 82)]
    [InlineData(1.0, 100)]
    public void A_place_between_two_values_is_shared_in_proportion_and_rounded_up(double share, long expected) =>
        Assert.Equal(new Money(expected),
            Suggestion.Quantile([.. Enumerable.Range(1, 10).Select(i => new Money(i * 10))], (decimal)share));

    [Fact]
    public void No_week_order_matters_and_the_share_is_covered() =>
        Gen.Select(Gen.Long[-500, 5_000].Array[1, 60], Gen.Int[0, 100]).Sample((values, percent) =>
        {
            var money = values.Select(v => new Money(v)).ToList();
            var quantile = Suggestion.Quantile(money, percent / 100m);

            Assert.Equal(quantile, Suggestion.Quantile([.. money.AsEnumerable().Reverse()], percent / 100m));
            // Type 7 leaves the floor of (n − 1)p + 1 values at or below it.
            Assert.True(values.Count(v => v <= quantile.Minor) >= (int)((values.Length - 1) * percent / 100m) + 1);
            Assert.InRange(quantile.Minor, values.Min(), values.Max());
        });

    private static Suggestion SuggestionOf(params decimal[] spends) => SuggestionOf(_first.First, spends);

    private static Suggestion SuggestionOf(DateOnly filled, params decimal[] spends) =>
        Suggestion.Of(Weeks(filled, spends), 0.8m, FirstDays(filled)).Single(s => s.Compartment.Id == Ferry);

    private static Dictionary<string, DateOnly> FirstDays(DateOnly ferry) => new() { [Ferry] = ferry };
}
