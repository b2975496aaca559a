using CashEvents.Domain.Books;
using CashEvents.Domain.Calendars;

namespace CashEvents.Domain.FillRuns;

/// <summary>When the program fills by itself.</summary>
/// <param name="At">The household's local time on each payday, whole minutes.</param>
/// <param name="From">The first day whose payday it fills.</param>
public sealed record AutomaticFills(TimeOnly At, DateOnly From)
{
    /// <summary>The name beside lines that the program writes by itself. No key is issued under it.</summary>
    public const string Writer = "automatic fill runs";
}

/// <summary>Line: the program fills by itself from now on, at a time.</summary>
/// <param name="At">The household's local time on each payday.</param>
/// <param name="From">The first day whose payday it fills.</param>
public sealed record AutomaticFillsSet(TimeOnly At, DateOnly From) : IBookEvent;

/// <summary>Line: the program fills by itself no more.</summary>
public sealed record AutomaticFillsStopped : IBookEvent;

/// <summary>Line: a payday could not be filled by the program and is left to the keeper.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Reason">Why, with the mend.</param>
public sealed record PaydayLeft(DateOnly Payday, string Reason) : IBookEvent;

/// <summary>Lets the program fill each payday by itself.</summary>
/// <param name="At">The household's local time, whole minutes.</param>
/// <param name="From">The first day whose payday it fills, today or later.</param>
public sealed record SetAutomaticFills(TimeOnly At, DateOnly From) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        if (new AutomaticFills(At, From) == book.AutomaticFills)
        {
            return [];
        }

        // Earlier paydays may have been filled by hand.
        if (From < today && From != book.AutomaticFills?.From)
        {
            throw Refusal.Unfit("from", "before-today", $"{From:O} is before the household's today, {today:O}: the program fills paydays from today on. Fill earlier ones with POST /api/fill-runs.");
        }

        BankDate.MustBeTold(From, "from");
        return [new AutomaticFillsSet(At, From)];
    }
}

/// <summary>Lets the program fill no more by itself.</summary>
public sealed record StopAutomaticFills : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.AutomaticFills is null ? [] : [new AutomaticFillsStopped()];
    }
}

/// <summary>Fills a payday for the program itself: one that was filled or left before, or is no payday any more, writes nothing; one that can't be filled is left, with the reason.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Calendars">The calendar of a household, by its country.</param>
public sealed record FillPaydayAutomatically(DateOnly Payday, Func<string?, ICalendar> Calendars) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        if (!(book.AutomaticFills?.From <= Payday) || Payday > today || book.FillRuns.ContainsKey(Payday)
            || Paydays.Payday.Between(Payday, Payday, book, Calendars(book.Household!.Country)).Count == 0)
        {
            return [];
        }

        try
        {
            return new FillPayday(Payday, null, null, Calendars).Decide(book, today);
        }
        catch (RefusalException refused)
        {
            return [new PaydayLeft(Payday, refused.Refusal.Detail)];
        }
    }
}
