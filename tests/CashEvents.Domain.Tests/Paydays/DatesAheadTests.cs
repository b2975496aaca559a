using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

/// <summary>The days that a calendar has, on Thursday 24 September 2026.</summary>
public class DatesAheadTests
{
    private static readonly QuayCalendar _quay = new();
    private static readonly DateOnly _to = new(2026, 12, 24);

    private static GoalSet Goal(string id, decimal amount, DateOnly due) =>
        new(id, Boat, id, Eur(amount), due, null, ImmutableSortedDictionary<DateOnly, Money>.Empty, Sept(1));

    private static IReadOnlyList<DateAhead> Of(Book book, string every = "P1M") =>
        DatesAhead.Of(book, Today, _to, Period.Of(every), Outlook.Of(book, Today, _to, _quay), _quay);

    [Fact]
    public void What_a_fund_has_goes_to_its_bills_in_their_order_and_one_that_is_overdue_stays_on_its_day()
    {
        var book = Given(Goal("hull", 40m, Sept(10)), Goal("mooring", 50m, new DateOnly(2026, 11, 2)),
            Goal("paint", 5m, new DateOnly(2026, 12, 1)), Fill(Boat, 60m, Sept(1), Holding.Bank)).Book;

        var bills = Of(book).OfType<BillDate>().ToList();

        Assert.Equal([("bill.hull.2026-09-10", Sept(10), Eur(40m)),
            ("bill.mooring.2026-11-02", new DateOnly(2026, 11, 2), Eur(20m)),
            ("bill.paint.2026-12-01", new DateOnly(2026, 12, 1), Eur(0m))], bills.Select(b => (b.Id, b.Day, b.There)));
        Assert.Equal([Eur(0m), Eur(30m), Eur(5m)], bills.Select(b => b.WillMiss));
    }

    [Fact]
    public void A_wallet_with_cash_is_due_after_its_oldest_count_and_today_where_that_is_past()
    {
        var book = Given(Fill(Ferry, 10m, Sept(1)), Fill(Market, 10m, Sept(1)), Fill(Van, 5m, Sept(1)),
            Fill(Boat, 5m, Sept(1), Holding.Bank), Count(Ferry, 10m, 10m, Sept(2)), Count(Market, 10m, 10m, Sept(20)),
            Count(Van, 5m, 5m, Sept(20))).Book;

        Assert.Equal([("count.market-bag", new DateOnly(2026, 10, 2), Sept(2)),
            ("count.strongbox", new DateOnly(2026, 10, 20), Sept(20))], Counts("P1M"));
        Assert.Equal([("count.market-bag", Today, Sept(2)), ("count.strongbox", Sept(27), Sept(20))], Counts("P1W"));

        IEnumerable<(string, DateOnly, DateOnly)> Counts(string every) =>
            Of(book, every).OfType<CountDate>().Select(c => (c.Id, c.Day, c.LastCounted!.Value));
    }

    [Fact]
    public void Closed_months_done_steps_and_wallets_without_cash_are_left_out_and_no_two_are_alike()
    {
        var book = Given(new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], ""), Fill(Ferry, 10m, Sept(1)),
            new SavingPlanSet(Van, new SavingSteps(Eur(1m), Eur(1m), 3, [], null), Sept(20), "P1W"),
            new IncomeSourceSet("harbour-office", "Harbour office", "month", Sept(1), NotBankDay.Previous, Eur(100m)))
            .Book;

        var dates = Of(book);

        Assert.Equal(["2026-09", "2026-10", "2026-11"], dates.OfType<MonthEndDate>().Select(m => $"{m.Month}"));
        Assert.Equal([Sept(20), Sept(27), new DateOnly(2026, 10, 4)],
            dates.OfType<SavingStepDate>().Select(s => s.Day));
        Assert.Equal(["count.market-bag"], dates.OfType<CountDate>().Select(c => c.Id));
        // The 1st of November is a Sunday.
        Assert.Equal([Sept(1), new DateOnly(2026, 10, 1), new DateOnly(2026, 10, 30), new DateOnly(2026, 12, 1)],
            dates.OfType<PaydayDate>().Select(p => p.Day));
        Assert.Equal(dates.Count, dates.Select(d => d.Id).Distinct().Count());
        Assert.Equal(dates.Select(d => d.Day).Order(), dates.Select(d => d.Day));
    }

    // To a month's last day its end is told, to the day before it is not.
    [Fact]
    public void A_calendar_ends_on_its_last_day()
    {
        IEnumerable<string> Ends(DateOnly to) => DatesAhead.Of(Given().Book, Today, to, Period.Of("P1M"), null, _quay)
            .OfType<MonthEndDate>().Select(m => $"{m.Month}");
        var book = Given(Goal("hull", 40m, Sept(30)),
            new SavingPlanSet(Van, new SavingSteps(Eur(1m), Eur(1m), 1, [], null), Sept(30), "P1W")).Book;
        int Told(DateOnly to) => DatesAhead.Of(book, Today, to, Period.Of("P1M"), null, _quay)
            .Count(d => d is BillDate or SavingStepDate);

        Assert.Equal(["2026-08", "2026-09"], Ends(Sept(30)));
        Assert.Equal(["2026-08"], Ends(Sept(29)));
        Assert.Equal((2, 0), (Told(Sept(30)), Told(Sept(29))));
    }
}
