using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

/// <summary>
/// What the book keeps of its balances by day, of its corrections, and of when its lines were written.
/// </summary>
public static class BalancesInBook
{
    /// <summary>Closing balances by day of every place that money has been in.</summary>
    public static readonly Section<ImmutableDictionary<Part, DailyBalances>> Days =
        new("daily balances", ImmutableDictionary<Part, DailyBalances>.Empty, growsWithTheBook: true)
        {
            GoesAlong = (days, from) => days.ToImmutableDictionary(d => d.Key, d => d.Value.From(from.Day)),
        };

    /// <summary>Lines that are corrected, and by which.</summary>
    public static readonly Section<CorrectedLines> Corrections = new("corrected lines", CorrectedLines.None,
        growsWithTheBook: true)
    {
        GoesAlong = (corrected, from) => corrected.From(from.Line),
    };

    /// <summary>What corrections of closed months change later than on the day that they belong to.</summary>
    public static readonly Section<ImmutableList<LateCorrection>> LateCorrections = new("late corrections", [],
        growsWithTheBook: true)
    {
        GoesAlong = (late, from) => late.RemoveAll(correction => correction.PostedOn < from.Day),
    };

    /// <summary>Lines that were stamped by a clock that was ahead.</summary>
    public static readonly Section<ImmutableList<LinesAhead>?> LinesAhead = new("lines ahead", null);
}
