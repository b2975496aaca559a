namespace CashEvents.Domain.Paydays;

/// <summary>A day on which an income source pays.</summary>
/// <param name="Source">Who pays.</param>
/// <param name="Date">When it is due, and the bank day on which it is there.</param>
public sealed record Payday(IncomeSource Source, BankDate Date)
{
    /// <summary>The longest stretch for which paydays are told at once, in years.</summary>
    public const int MostYears = 10;

    /// <summary>Refuses a stretch that is none, or is too long.</summary>
    /// <exception cref="RefusalException">It ends before it begins, is too long, or ends after what is
    /// told.</exception>
    public static void MustBeStretch(DateOnly first, DateOnly last)
    {
        BankDate.MustBeTold(last, "to");
        if (last < first)
        {
            throw Refusal.Unfit("to", "to-before-from",
                $"`to` is {last:O}, before `from`, {first:O}: write a later day, or leave it out.");
        }

        if (last >= first.AddYears(MostYears))
        {
            throw Refusal.Unfit("to", "stretch-too-long",
                $"Paydays are told for at most {MostYears} years at once: ask up to "
                    + $"{first.AddYears(MostYears).AddDays(-1):O}, then for the rest.");
        }
    }

    /// <summary>
    /// A household's paydays whose bank day lies in a stretch of days, both ends counted in; in order of those, then by
    /// source.
    /// </summary>
    public static IReadOnlyList<Payday> Between(DateOnly first, DateOnly last, Book book, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(book);
        return
        [
            .. book.IncomeSources.Values
                .SelectMany(source => BankDate.Between(first, last, source.Recurrence, source.NotBankDay, calendar)
                    .Select(date => new Payday(source, date)))
                .OrderBy(payday => payday.Date.Day).ThenBy(payday => payday.Source.Id, StringComparer.Ordinal),
        ];
    }

    /// <summary>The bank days of the paydays in a stretch of days, each once, as far as bank days are told.</summary>
    public static IReadOnlyList<DateOnly> DaysBetween(DateOnly first, DateOnly last, Book book, ICalendar calendar) =>
    [
        .. Between(first > BankDate.FirstTold ? first : BankDate.FirstTold,
            last < BankDate.LastTold ? last : BankDate.LastTold, book, calendar).Select(p => p.Date.Day).Distinct(),
    ];

    /// <summary>
    /// The bank day of the payday that is to be filled next: today while it is not filled; null when none is known to
    /// come.
    /// </summary>
    public static DateOnly? Next(DateOnly today, Book book, ICalendar calendar)
    {
        ArgumentNullException.ThrowIfNull(book);
        return After(book.FillRuns.TryGetValue(today, out var mark) && mark.State == PaydayState.Filled
            ? today
            : today.AddDays(-1), book, calendar);
    }

    /// <summary>
    /// The first bank day after a day on which any income source pays; null when none does within
    /// <see cref="MostYears"/> or before bank days are told no more.
    /// </summary>
    public static DateOnly? After(DateOnly day, Book book, ICalendar calendar)
    {
        // Most often it is near; only who has none pays for looking far.
        for (var (first, years) = (day.AddDays(1), 0); years < MostYears
            && first <= BankDate.LastTold; first = first.AddYears(1), years++)
        {
            if (Between(first, first.AddYears(1).AddDays(-1), book, calendar) is [var next, ..])
            {
                return next.Date.Day;
            }
        }

        return null;
    }
}
