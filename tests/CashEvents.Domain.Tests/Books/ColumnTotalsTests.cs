using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

public class ColumnTotalsTests
{
    [Fact]
    public void Every_kind_of_movement_stands_in_its_column_on_its_slice()
    {
        var totals = ColumnTotals.Of(
            [
                Fill(Ferry, 90m, Sept(1)), Fill(Ferry, 10m, Sept(7)), Spend(Ferry, 12.25m, Sept(7)),
                Spend(Ferry, 2m, Sept(13)), Refund(Ferry, 0.50m, Sept(14)),
                Transfer(Cash(Ferry), Cash(Market), 5m, Sept(8)), Transfer(Cash(Ferry), Bank(Ferry), 7m, Sept(8)),
                Sweep(Cash(Ferry), Cash(Boat), 1m, Sept(20)),
                Settle(12, Ferry, -0.30m, Sept(15)), Settle(13, Ferry, 0.20m, Sept(16)), Spend(Ferry, 4m, Sept(21)),
            ],
            [Sept(7), Sept(14)], Sept(20));

        Assert.Equal([KeyValuePair.Create(Cash(Ferry), Eur(90m))], totals.Openings);
        Assert.Equal(
            Sorted(
                Total(7, Cash(Ferry), Column.Filled, 10m), Total(7, Cash(Ferry), Column.Spent, -14.25m),
                Total(14, Cash(Ferry), Column.Refunded, 0.50m),
                Total(7, Cash(Ferry), Column.MovedOut, -5m), Total(7, Cash(Market), Column.MovedIn, 5m),
                Total(7, Cash(Ferry), Column.HoldingOut, -7m), Total(7, Bank(Ferry), Column.HoldingIn, 7m),
                Total(14, Cash(Ferry), Column.SweptOut, -1m), Total(14, Cash(Boat), Column.SweptIn, 1m),
                Total(14, Cash(Ferry), Column.Short, -0.30m), Total(14, Cash(Ferry), Column.Over, 0.20m)),
            Sorted([.. totals.Changes]));
    }

    [Fact]
    public void A_line_that_is_undone_leaves_nothing_in_its_column()
    {
        var spend = Spend(Ferry, 12.25m, Sept(7));
        var undone = new Reversed(new Correction(9), MovementKind.Spend, [new Posting(Cash(Ferry), Eur(12.25m))],
            Sept(7), "Never happened");

        var totals = ColumnTotals.Of([Fill(Ferry, 90m, Sept(1)), spend, undone], [Sept(7)], Sept(13));

        Assert.Equal([KeyValuePair.Create(Cash(Ferry), Eur(90m))], totals.Openings);
        Assert.Empty(totals.Changes);
    }

    [Fact]
    public void A_correction_of_a_closed_months_line_stands_in_a_column_of_its_own()
    {
        var undone = new Reversed(new Correction(9, Sept(7)), MovementKind.Spend,
            [new Posting(Cash(Ferry), Eur(12.25m))], new DateOnly(2026, 10, 1), "Never happened");

        var totals = ColumnTotals.Of([undone], [new DateOnly(2026, 9, 28)], new DateOnly(2026, 10, 4));

        Assert.Equal([new ColumnTotal(new DateOnly(2026, 9, 28), Cash(Ferry), Column.Corrected, Eur(12.25m))],
            totals.Changes);
    }

    private static ColumnTotal Total(int slice, Part part, Column column, decimal change) =>
        new(Sept(slice), part, column, Eur(change));

    private static string Sorted(params ColumnTotal[] totals) =>
        string.Join('\n', totals.Select(t => t.ToString()).Order(StringComparer.Ordinal));
}
