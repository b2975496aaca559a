using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Books;

public class ClockWasAheadTests
{
    private static readonly QuayCalendar _quay = new();

    // The real day is 24 September 2026; the clock said that the first of October had come.
    private static readonly DateOnly _payday = new(2026, 10, 1);

    private static readonly FillPaydayAutomatically _automatic = new(_payday, _ => _quay);

    /// <summary>A household that has the program fill, and what that wrote of a payday that had not come.</summary>
    private static Given Ahead(decimal? pay) => Given(Setting(pay)).When(_automatic, _payday).ThenWritten();

    private static SayClockWasAhead Say(Given given, DateOnly? today = null) =>
        new(given.Book.Line, given.Book.Line, today ?? Today, "The month was set wrong");

    [Fact]
    public void A_run_that_was_undone_before_its_payday_is_done_when_the_day_comes()
    {
        var ahead = Ahead(100m);
        var run = ahead.Book.FillRuns[_payday];
        var filled = new PaydayFilled(FillRun.Of(_payday, null, Given(Setting(100m)).Book, _quay), _payday,
            "Payday 2026-10-01");

        var undone = ahead.When(new ReverseLine(run.Line, filled, "Too early")).ThenWritten();

        Assert.DoesNotContain(_payday, undone.Book.FillRuns.Keys);
        undone.When(_automatic, _payday.AddDays(-1)).ThenNothing();
        Assert.Equal(PaydayState.Filled, undone.When(_automatic, _payday).ThenWritten().Book.FillRuns[_payday].State);
        // Undone on its day it stays undone.
        var later = ahead.When(new ReverseLine(run.Line, filled, "Paid late"), _payday).ThenWritten();
        later.When(_automatic, _payday).ThenNothing();
    }

    [Fact]
    public void What_was_left_or_undone_by_a_clock_that_was_ahead_is_tried_again_when_its_day_comes()
    {
        var ahead = Ahead(null);
        Assert.Equal(PaydayState.Left, ahead.Book.FillRuns[_payday].State);

        var said = ahead.When(Say(ahead))
            .Then(new ClockWasAhead(ahead.Book.Line, ahead.Book.Line, Today, "The month was set wrong"));

        Assert.Empty(said.Book.FillRuns);
        Assert.Equal(said.Book.Line, said.Book.SaidAhead(ahead.Book.Line));
        Assert.Null(said.Book.SaidAhead(said.Book.Line));
        Assert.Null(said.Book.SaidAhead(ahead.Book.Line - 1));
    }

    [Fact]
    public void What_was_filled_stays_filled_until_it_is_undone()
    {
        var ahead = Ahead(100m);

        var said = ahead.When(Say(ahead)).ThenWritten();

        Assert.Equal(PaydayState.Filled, said.Book.FillRuns[_payday].State);
        said.When(_automatic, _payday).ThenNothing();
    }

    [Fact]
    public void It_is_said_once_of_each_line_with_the_day_that_the_clock_says_and_a_reason()
    {
        var ahead = Ahead(100m);

        ahead.When(Say(ahead, Today.AddDays(1))).ThenRefused("clock-differs", "today");
        ahead.When(Say(ahead) with { FromLine = 0, ToLine = 0 }).ThenRefused("clock-not-ahead");
        ahead.When(Say(ahead) with { Reason = " " }).ThenRefused("words-missing", "reason");
        ahead.When(Say(ahead)).ThenWritten().When(Say(ahead)).ThenRefused("clock-not-ahead");
    }

    private static IBookEvent[] Setting(decimal? pay) =>
    [
        new IncomeSourceSet("harbour-office", "Harbour office", "month", Sept(1), NotBankDay.Previous,
            pay is { } p ? Eur(p) : null),
        new FillRuleSet(Ferry, FillRuleKind.Fixed, Eur(60m), null, null, Holding.Cash, 1, null),
        new AutomaticFillsSet(new TimeOnly(6, 30), Today),
    ];
}
