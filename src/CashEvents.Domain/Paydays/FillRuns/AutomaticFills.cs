namespace CashEvents.Domain.Paydays;

/// <summary>When the program fills by itself.</summary>
/// <param name="At">The household's local time on each payday, whole minutes.</param>
/// <param name="From">The first day whose payday it fills.</param>
public sealed record AutomaticFills(TimeOnly At, DateOnly From)
{
    /// <summary>The most days between a payday and the day on which it is filled.</summary>
    public const int MostDaysAfter = 27;

    /// <summary>
    /// So many days after each payday its cash is drawn: it is filled then, and dated then. Null for the payday itself.
    /// </summary>
    public int? DaysAfter { get; init; }

    /// <summary>The day on which a payday is filled.</summary>
    public DateOnly DayOf(DateOnly payday) => payday.AddDays(DaysAfter ?? 0);

    /// <summary>The name beside lines that the program writes by itself. No key is issued under it.</summary>
    public const string Writer = KeyName.Program;
}

/// <summary>Line: the program fills by itself from now on, at a time.</summary>
/// <param name="At">The household's local time on each payday.</param>
/// <param name="From">The first day whose payday it fills.</param>
[LineKind("automaticFills")]
public sealed record AutomaticFillsSet(TimeOnly At, DateOnly From) : IBookEvent
{
    /// <summary>So many days after each payday; none for the payday itself.</summary>
    public int? DaysAfter { get; init; }

    internal AutomaticFills Set => new(At, From) { DaysAfter = DaysAfter };

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PaydaysInBook.AutomaticFills.On(book, Set);

    /// <inheritdoc />
    public string Mend(long line) =>
        $"stop the automatic fills with {Act.StopAutomaticFills.Way()}, or set another time";
}

/// <summary>Line: the program fills by itself no more.</summary>
[LineKind("automaticFillsStopped")]
public sealed record AutomaticFillsStopped : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => PaydaysInBook.AutomaticFills.On(book, null);

    /// <inheritdoc />
    public string Mend(long line) => $"start the automatic fills again with {Act.StartAutomaticFills.Way()}";
}

/// <summary>Line: a payday could not be filled by the program and is left to the keeper.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Reason">Why, with the mend.</param>
[LineKind("paydayLeft")]
public sealed record PaydayLeft(DateOnly Payday, string Reason) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.Mark(Payday, book.Line + 1, PaydayState.Left);

    /// <inheritdoc />
    public string Mend(long line) => $"fill {Payday:O} with {Act.FillPayday.Way()}";
}

/// <summary>Lets the program fill each payday by itself.</summary>
/// <param name="At">The household's local time, whole minutes.</param>
/// <param name="From">The first day whose payday it fills, today or later.</param>
public sealed record SetAutomaticFills(TimeOnly At, DateOnly From) : ICommand
{
    /// <summary>
    /// So many days after each payday, 0 to <see cref="AutomaticFills.MostDaysAfter"/>; the payday itself if left out.
    /// </summary>
    public int? DaysAfter { get; init; }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        if (DaysAfter is < 0 or > AutomaticFills.MostDaysAfter)
        {
            throw Refusal.Unfit("daysAfter", "days-out-of-range",
                $"`daysAfter` is how many days after a payday it is filled, 0 to {AutomaticFills.MostDaysAfter}.");
        }

        var set = new AutomaticFillsSet(At, From) { DaysAfter = DaysAfter is > 0 ? DaysAfter : null };
        if (set.Set == book.AutomaticFills)
        {
            return [];
        }

        // Earlier paydays may have been filled by hand.
        if (From < today && From != book.AutomaticFills?.From)
        {
            throw Refusal.Unfit("from", "before-today",
                $"{From:O} is before the household's today, {today:O}: the program fills paydays from today on. Fill "
                    + $"earlier ones with {Act.FillPayday.Way()}.");
        }

        BankDate.MustBeTold(From, "from");
        return [set];
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

/// <summary>
/// Fills a payday for the program itself: one that was filled or left before, or is no payday any more, writes nothing;
/// one that can't be filled is left, with the reason.
/// </summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Calendars">The calendar of a household, by its country.</param>
public sealed record FillPaydayAutomatically(DateOnly Payday, Func<string?, ICalendar> Calendars) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        if (book.AutomaticFills is not { } fills || fills.From > Payday || fills.DayOf(Payday) > today
            || book.FillRuns.ContainsKey(Payday)
            || Paydays.Payday.Between(Payday, Payday, book, Calendars(book.Household!.Country)).Count == 0)
        {
            return [];
        }

        try
        {
            // A payday whose day is in a closed month is filled as any other of a closed month is.
            var day = fills.DayOf(Payday);
            return new FillPayday(Payday, null, null, Calendars) { OccurredOn = book.IsClosed(day) ? null : day }
                .Decide(book, today);
        }
        catch (RefusalException refused)
        {
            return [new PaydayLeft(Payday, refused.Refusal.Detail)];
        }
    }
}
