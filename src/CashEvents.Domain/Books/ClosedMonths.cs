namespace CashEvents.Domain.Books;

/// <summary>
/// The months that are closed: they follow one another. Days before the first of them are as good as closed.
/// </summary>
/// <param name="First">The first month that was ever closed.</param>
/// <param name="Latest">The latest; the only one that can be reopened.</param>
public sealed record ClosedMonths(Month First, Month Latest)
{
    /// <summary>The months after one more is closed.</summary>
    public static ClosedMonths With(ClosedMonths? closed, Month next) =>
        closed is null ? new ClosedMonths(next, next) : closed with { Latest = next };

    /// <summary>The months after the latest is reopened; null when none is left.</summary>
    public ClosedMonths? WithoutLatest => First == Latest ? null : this with { Latest = Latest.Previous };
}
