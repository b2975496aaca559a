namespace CashEvents.Sheets.Counts;

/// <summary>A row below the notes and coins of a tally.</summary>
/// <typeparam name="TColumn">What the tally has columns of.</typeparam>
/// <param name="Words">What it tells.</param>
/// <param name="Look">A word of the style sheet.</param>
/// <param name="Of">What it tells of a column; null or empty leaves room to write.</param>
public sealed record TallySum<TColumn>(string Words, string Look, Func<TColumn, string?> Of);
