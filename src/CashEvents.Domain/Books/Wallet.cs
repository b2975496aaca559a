namespace CashEvents.Domain.Books;

/// <summary>A physical holder with several compartments.</summary>
/// <param name="Id">Slug of its first label; stays.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Line">The line that opened it, which is also its place in lists.</param>
public sealed record Wallet(string Id, string Label, long Line)
{
    /// <summary>Out of use; nothing is in it then, and it lies nowhere.</summary>
    public bool Closed { get; init; }

    /// <summary>Where it lies; null when nobody said.</summary>
    public LyingIn? LiesIn { get; init; }
}

/// <summary>Where a wallet lies.</summary>
/// <param name="Place">Id of the place.</param>
/// <param name="Since">The day since which it is said to.</param>
public sealed record LyingIn(string Place, DateOnly Since);
