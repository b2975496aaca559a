namespace CashEvents.Domain.Paydays;

/// <summary>
/// The book looked ahead: on each payday the fill run that the rules give, from then on the plan's spending day by day,
/// each bill on its due date, and each step of a saving plan, drawn from the bank, on its day.
/// Nothing goes below zero. A plan that finds nothing left waits for the next fill; a bill that a fund can't meet stays
/// open, with those after it, until a fill covers it.
/// </summary>
/// <param name="From">The day that it looks from.</param>
/// <param name="To">The last day.</param>
/// <param name="Stretches">From payday to payday.</param>
/// <param name="LastPayday">A payday after which none is known, so that nothing says how long its pay has to last and
/// it is not filled; null when there is none such.</param>
public sealed record Outlook(DateOnly From, DateOnly To, IReadOnlyList<OutlookStretch> Stretches, DateOnly? LastPayday)
{
    /// <summary>The longest, in months.</summary>
    public const int MostMonths = 60;

    /// <summary>
    /// The most work that an outlook takes, in steps: for each payday one for each source, standing payment and bill
    /// that is saved for, a hundred for each compartment, which is a row to answer,
    /// and for each fund that earns interest two for each payday of the five years that its contribution is searched
    /// for.
    /// </summary>
    public const long MostSteps = 2_000_000;

    /// <summary>All that is short, by day.</summary>
    public IEnumerable<OutlookShortage> Shortages => Stretches.SelectMany(stretch => stretch.Shortages);

    /// <summary>The outlook of a book.</summary>
    /// <param name="book">The book, with its plan and what became of its paydays. Pay of a source without an amount is
    /// counted as nothing.</param>
    /// <param name="today">The household's today, whose spending is in the balances; a payday today that is not filled
    /// is.</param>
    /// <param name="to">The last day, today or later.</param>
    /// <param name="calendar">The household's calendar.</param>
    /// <exception cref="RefusalException">It takes more than <see cref="MostSteps"/>; says for how long it does
    /// not.</exception>
    public static Outlook Of(Book book, DateOnly today, DateOnly to, ICalendar calendar) =>
        new OutlookAhead(book, today, to, calendar).Look();
}
