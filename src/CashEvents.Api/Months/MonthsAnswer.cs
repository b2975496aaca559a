namespace CashEvents.Api.Months;

/// <summary>A month of the whole household in one row.</summary>
/// <param name="Month">The month, as <c>2026-11</c>.</param>
/// <param name="Closed">How it was closed; absent while it is open.</param>
/// <param name="Figures">Opening to closing, the total of cash and bank.</param>
/// <param name="ClosingCash">The cash at the end of its last day.</param>
/// <param name="ClosingBank">The bank parts at the end of its last day.</param>
public sealed record MonthRowAnswer(string Month, ClosedAnswer? Closed, FiguresAnswer Figures, decimal ClosingCash,
    decimal ClosingBank);

/// <summary>Months side by side.</summary>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="Months">The months, in order; each opens with what the one before it closed with.</param>
/// <param name="Totals">All of them in total: the first one's opening, the last one's closing.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record MonthsAnswer(string? Currency, IReadOnlyList<MonthRowAnswer> Months, FiguresAnswer Totals,
    long BookLine)
{
    /// <summary>Months in this API's words.</summary>
    internal static MonthsAnswer Of(MonthRows read)
    {
        var currency = read.Book.Household?.Currency;
        return new MonthsAnswer(
            currency?.Code,
            [
                .. from row in read.Rows
                   let closed = read.Closed.TryGetValue(row.Month, out var line)
                       ? ClosedAnswer.Of(row.Month, line)
                       : null
                   select new MonthRowAnswer(
                       row.Month.ToString(), closed, FiguresAnswer.OfMonths([row], currency),
                       currency?.ToDecimal(row.ClosingCash) ?? 0m, currency?.ToDecimal(row.ClosingBank) ?? 0m),
            ],
            FiguresAnswer.OfMonths(read.Rows, currency),
            read.Book.Line);
    }
}

/// <summary>A line of the kind <c>monthClosed</c>.</summary>
public sealed record MonthClosedLine : LineAnswer, ILineOf<MonthClosed>
{
    /// <summary>The month that was closed or reopened.</summary>
    public required string Month { get; init; }

    /// <summary>What each place held when its month was closed.</summary>
    public required IReadOnlyList<ClosingAnswer> Closing { get; init; }

    static LineAnswer ILineOf<MonthClosed>.Of(MonthClosed e, LineTelling told) =>
        new MonthClosedLine
        {
            Month = e.Month.ToString(),
            Description = e.Reason.Length > 0 ? e.Reason : null,
            Closing = [.. e.Figures.Select(
                f => new ClosingAnswer(f.Place.Compartment, f.Place.Holding, f.Wallet, told.Say(f.Closing)))]
        };
}

/// <summary>A line of the kind <c>monthReopened</c>.</summary>
public sealed record MonthReopenedLine : LineAnswer, ILineOf<MonthReopened>
{
    /// <summary>The month that was closed or reopened.</summary>
    public required string Month { get; init; }

    static LineAnswer ILineOf<MonthReopened>.Of(MonthReopened e, LineTelling told) =>
        new MonthReopenedLine { Month = e.Month.ToString(), Description = e.Reason };
}
