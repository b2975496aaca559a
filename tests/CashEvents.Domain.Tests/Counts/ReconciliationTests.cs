using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

public class ReconciliationTests
{
    [Fact]
    public void What_should_be_there_is_what_was_found_and_what_moved_since() =>
        Reconciles(Of(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(2)), Spend(Ferry, 5m, Sept(3))),
            moved: -5m, there: 34m, difference: -1m);

    [Fact]
    public void Once_the_count_is_settled_it_agrees() =>
        Reconciles(Of(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(2)), Spend(Ferry, 5m, Sept(3)),
            Settle(FirstLine + 1, Ferry, -1m)), moved: -5m, there: 34m, difference: 0m);

    [Fact]
    public void A_spend_of_before_the_count_that_was_forgotten_is_not_gone_twice() =>
        Reconciles(Of(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(2)), Spend(Ferry, 1m, Sept(1))), moved: 0m,
            there: 39m, difference: 0m);

    [Fact]
    public void What_is_learnt_after_a_settlement_shows_as_over() =>
        Reconciles(
            Of(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(2)), Settle(FirstLine + 1, Ferry, -1m),
                Spend(Ferry, 1m, Sept(1)), Fill(Ferry, 7m, Sept(4))), moved: 7m, there: 46m, difference: 1m);

    [Fact]
    public void A_bank_part_is_reconciled_with_its_statement()
    {
        var parts = Places(Fill(Ferry, 200m, Sept(1), Holding.Bank), Count(Ferry, 200m, 199m, Sept(2), Holding.Bank),
            Fill(Ferry, 10m, Sept(3), Holding.Bank), Fill(Ferry, 3m));

        Reconciles(parts.Single(p => p.Holding == Holding.Bank), moved: 10m, there: 209m, difference: -1m);
        Assert.Equal(Eur(3m), parts.Single(p => p.Holding == Holding.Cash).NotCounted);
    }

    [Fact]
    public void What_was_never_counted_is_not_taken_to_be_there_and_empty_places_are_left_out()
    {
        var parts = Places(Fill(Ferry, 40m), Fill(Van, 5m), Count(Market, 0m, 0m, Sept(9)),
            Count(Van, 5m, 5m, Sept(11)));

        Assert.Equal([Ferry, Market, Van], parts.Select(p => p.Compartment.Id));
        Assert.Equal([Eur(40m), Money.Zero, Money.Zero], parts.Select(p => p.NotCounted));
        Assert.Equal([Money.Zero, Money.Zero, Eur(5m)], parts.Select(p => p.There));
        Assert.Equal(Sept(9), Reconciliation.OldestCount(parts));
        Assert.Null(Reconciliation.OldestCount(parts.Take(1)));
    }

    private static List<ReconciledPart> Places(params IBookEvent[] lines) => [.. Reconciliation.Of(Given(lines).Book)];

    private static ReconciledPart Of(params IBookEvent[] lines) => Assert.Single(Places(lines));

    private static void Reconciles(ReconciledPart part, decimal moved, decimal there, decimal difference)
    {
        Assert.Equal((Eur(moved), Eur(there), Eur(difference)), (part.MovedSince, part.There, part.Difference));
        Assert.Equal(part.Balance, part.There - part.Difference + part.NotCounted);
    }
}
