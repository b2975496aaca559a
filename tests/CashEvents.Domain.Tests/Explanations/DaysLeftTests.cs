using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>A movement is missing, or dated across the count, on a day that there is for it.</summary>
public class DaysLeftTests
{
    [Fact]
    public void A_fill_that_every_week_has_is_missing_where_one_has_it_not()
    {
        // Ten Fridays; the last one before the count is left out, or the one before the count that agreed.
        Told Without(int left) => Told.Of([
            .. Enumerable.Range(0, 10).Where(week => week != left)
                .Select(week => Fill(Ferry, 25m, Sept(11).AddDays(-7 * week))),
            Spend(Ferry, 7.40m, Sept(9), description: "Return"), Found(left < 4 ? 150m : 125m, Sept(1).AddDays(-15)),
            Found((25m * 9) - 7.40m + 25m, Sept(14))]);
        const string missing = "notRecorded-fill-ferry-fares-cash-2500";

        Assert.True(Without(1).Likelihood(missing) > Without(9).Likelihood(missing));
    }

    [Fact]
    public void A_line_of_the_counts_own_day_is_misdated_rather_while_there_is_no_later_day()
    {
        var told = Told.Of([Fill(Ferry, 100m, Sept(1)), Spend(Ferry, 8.40m, Sept(3), description: "Return"),
            Spend(Ferry, 8.40m, Sept(6), description: "Return"), Spend(Ferry, 3.20m, Sept(7), description: "Bus"),
            Count(Ferry, 80m, 71.60m, Sept(8)), Spend(Ferry, 8.40m, Sept(8), description: "Return")]);
        decimal Misdated(int daysLater) => ExplainedCount
            .Of(told.Book, told.Book.CashCount(Ferry)!.Line, told.Lines, Sept(8 + daysLater), 20).Explanations
            .Where(e => e.Mistakes is [Miswritten { Kind: MistakeKind.WrongDay }]).Sum(e => e.Likelihood);

        Assert.True(Misdated(0) > Misdated(7));
    }

    private static CountTaken Found(decimal total, DateOnly on) => Count(Ferry, total, total, on);
}
