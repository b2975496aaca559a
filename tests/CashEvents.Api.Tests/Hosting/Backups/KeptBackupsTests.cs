using System.Globalization;
using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// Which nightly backups are kept: 7 days, 4 weeks, 12 months (grandfather, father, son: common practice).
/// </summary>
public sealed class KeptBackupsTests
{
    private static readonly DateOnly _first = new(2026, 1, 1);

    [Fact]
    public void Three_years_of_nights_leave_the_last_week_the_ends_of_weeks_and_of_months()
    {
        var kept = Lived(Enumerable.Range(0, 1096).Select(_first.AddDays));

        Assert.Equal(
            [
                "2028-12-31", "2028-12-30", "2028-12-29", "2028-12-28", "2028-12-27", "2028-12-26", "2028-12-25",
                "2028-12-24", "2028-12-17", "2028-12-10", "2028-11-30", "2028-10-31", "2028-09-30", "2028-08-31",
                "2028-07-31", "2028-06-30", "2028-05-31", "2028-04-30", "2028-03-31", "2028-02-29", "2028-01-31",
            ], kept.Select(night => night.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture)));
    }

    [Fact]
    public void The_last_seven_are_kept_and_never_many_and_each_of_the_last_months_has_one() =>
        Gen.Int[1, 40].Array[1, 200].Sample(gaps =>
        {
            var nights = gaps.Select((_, i) => _first.AddDays(gaps.Take(i).Sum())).ToList();

            var kept = Lived(nights);

            Assert.Equal(nights.OrderDescending().Take(7), kept.Take(7));
            Assert.True(kept.Count <= 7 + 4 + 12, $"{kept.Count} are kept.");
            var months = nights.GroupBy(n => (n.Year, n.Month)).Select(m => m.Key).OrderDescending().Take(12);
            Assert.Empty(months.Except(kept.Select(n => (n.Year, n.Month))));
        });

    // As nights go by: what was removed once is not there to be kept later.
    private static List<DateOnly> Lived(IEnumerable<DateOnly> nights)
    {
        var there = new List<DateOnly>();
        foreach (var night in nights)
        {
            there.Add(night);
            var kept = KeptBackups.Of(there);
            there.RemoveAll(n => !kept.Contains(n));
        }

        return [.. there.OrderDescending()];
    }
}
