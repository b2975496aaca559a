using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>Mistakes that, put right, make a count agree: nearly always one.</summary>
/// <param name="Mistakes">What happened.</param>
/// <param name="Counts">The counts that disagree now and agree then, by their lines.</param>
/// <param name="Likelihood">From 0 to 1, beside all that was found and what was not: docs/explanations.md says how it
/// is computed.</param>
public sealed record Explanation(ImmutableArray<Mistake> Mistakes, ImmutableArray<long> Counts, decimal Likelihood)
{
    /// <summary>What points to it, in words.</summary>
    public string Why { get; init; } = "";

    /// <summary>What to look at to be sure, in words.</summary>
    public string Look { get; init; } = "";

    /// <summary>Names it among the explanations of a count, as long as the book stays as it is.</summary>
    public string Code => string.Join('+', Mistakes.Select(m => m.Code));

    /// <summary>What puts it right, in this order: counts are written anew after the lines.</summary>
    /// <param name="book">The book it explains a count of.</param>
    public ImmutableArray<ICommand> Mend(Book book) =>
        [.. Mistakes.OrderBy(m => m.IsInCount).SelectMany(m => m.Mend(book))];
}
