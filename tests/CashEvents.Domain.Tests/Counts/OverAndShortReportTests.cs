using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Counts;

public class OverAndShortReportTests
{
    private static readonly string[] _compartments = [Ferry, Market, Van];

    private static readonly string[] _keys = ["keeper", "partner"];

    private static SettledDifference Settled(long line, string compartment, decimal difference, DateOnly on,
        string by = "keeper") =>
        new(line, line - 1, Cash(compartment), Eur(difference), on, by, "");

    [Fact]
    public void Running_sums_follow_the_days_and_then_the_lines()
    {
        var report = OverAndShortReport.Of(
            [Settled(40, Ferry, 0.50m, Sept(20)), Settled(30, Market, -2m, Sept(20)),
                Settled(50, Ferry, -1m, Sept(3))]);

        Assert.Equal([50, 30, 40], report.Differences.Select(d => d.Settled.Line));
        Assert.Equal([Eur(-1m), Eur(-3m), Eur(-2.50m)], report.Differences.Select(d => d.Running.Net));
        Assert.Equal([Eur(1m), Eur(3m), Eur(3.50m)], report.Differences.Select(d => d.Running.Gross));
        Assert.Equal([Eur(-1m), Eur(-2m), Eur(-0.50m)], report.Differences.Select(d => d.InCompartment.Net));
        Assert.Equal([Eur(1m), Eur(2m), Eur(1.50m)], report.Differences.Select(d => d.InCompartment.Gross));
    }

    [Fact]
    public void They_are_added_up_by_compartment_key_and_month()
    {
        var report = OverAndShortReport.Of(
        [
            Settled(20, Ferry, -1m, new DateOnly(2026, 8, 31)), Settled(30, Ferry, 0.25m, Sept(1), "partner"),
            Settled(40, Market, -2m, Sept(20)),
        ]);

        Assert.Equal([(Ferry, new OverAndShortSums(2, Eur(0.25m), Eur(1m))),
            (Market, new OverAndShortSums(1, Money.Zero, Eur(2m)))],
            report.Compartments.Select(c => (c.Compartment, c.Sums)));
        Assert.Equal([("keeper", Eur(-3m), Eur(3m)), ("partner", Eur(0.25m), Eur(0.25m))],
            report.Keys.Select(k => (k.By, k.Sums.Net, k.Sums.Gross)));
        Assert.Equal(
            [("2026-08", Eur(-1m), Eur(-1m), Eur(1m)), ("2026-09", Eur(-1.75m), Eur(-2.75m), Eur(3.25m))],
            report.Months.Select(m => (m.Month.ToString(), m.Sums.Net, m.Running.Net, m.Running.Gross)));
        Assert.NotNull(report.Compartments[0].Chart);
        Assert.Null(report.Compartments[1].Chart);
    }

    [Fact]
    public void Every_way_of_adding_up_comes_to_the_same() =>
        Gen.Select(Gen.Int[-900, 900].Where(c => c != 0), Gen.Int[0, 2], Gen.Int[0, 400], Gen.Int[0, 1]).Array[1, 30]
            .Sample(written =>
        {
            var settled = written.Select(
                (w, i) => Settled(i + 10, _compartments[w.Item2], w.Item1 / 100m,
                    new DateOnly(2025, 9, 1).AddDays(w.Item3), _keys[w.Item4])).ToList();

            var report = OverAndShortReport.Of(settled);

            Assert.Equal((settled.Sum(s => s.Difference.Minor), settled.Sum(s => Math.Abs(s.Difference.Minor))),
                (report.Sums.Net.Minor, report.Sums.Gross.Minor));
            foreach (var parts in new[] { report.Compartments.Select(c => c.Sums), report.Keys.Select(k => k.Sums),
                report.Months.Select(m => m.Sums) })
            {
                Assert.Equal((report.Sums.Over.Minor, report.Sums.Short.Minor, settled.Count),
                    (parts.Sum(p => p.Over.Minor), parts.Sum(p => p.Short.Minor), parts.Sum(p => p.Settlements)));
            }

            Assert.Equal(report.Sums, report.Differences[^1].Running);
            Assert.Equal(report.Sums, report.Months[^1].Running);
            Assert.All(report.Compartments,
                c => Assert.Equal(c.Sums,
                    report.Differences.Last(d => d.Settled.Place.Compartment == c.Compartment).InCompartment));
        });
}
