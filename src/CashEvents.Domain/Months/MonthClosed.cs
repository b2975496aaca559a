using System.Collections.Immutable;

namespace CashEvents.Domain.Months;

/// <summary>What a place held when its month was closed.</summary>
/// <param name="Place">Compartment and holding.</param>
/// <param name="Wallet">The wallet that the compartment was in.</param>
/// <param name="Closing">Balance at the end of the month.</param>
public sealed record ClosingFigure(Part Place, string Wallet, Money Closing);

/// <summary>Line: a month is closed; nothing dated in it changes any more.</summary>
/// <param name="Month">The month.</param>
/// <param name="Figures">What each place held at its end, compartments in use and all that money was ever in.</param>
/// <param name="Reason">What was written beside it: why it was closed although something was open. May be
/// empty.</param>
[LineKind("monthClosed")]
public sealed record MonthClosed(Month Month, ImmutableArray<ClosingFigure> Figures, string Reason) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book with { ClosedMonths = ClosedMonths.With(book.ClosedMonths, Month) };

    /// <inheritdoc />
    public string Mend(long line) => $"reopen {Month} instead";
}

/// <summary>Line: a closed month is opened again.</summary>
/// <param name="Month">The month, the latest closed.</param>
/// <param name="Reason">Why.</param>
[LineKind("monthReopened")]
public sealed record MonthReopened(Month Month, string Reason) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => book with { ClosedMonths = book.ClosedMonths!.WithoutLatest };

    /// <inheritdoc />
    public string Mend(long line) => $"close {Month} again instead";
}
