namespace CashEvents.Api.Months;

/// <summary>
/// What there was at the start of a month, what changed it, and what there was at its end. Opening + filled − spent +
/// refunded + movedIn − movedOut + sweptIn − sweptOut + over − short + corrected = closing.
/// </summary>
/// <param name="Opening">Before the month's first day.</param>
/// <param name="Filled">Came in from outside.</param>
/// <param name="Spent">Left to sellers.</param>
/// <param name="Refunded">Came back from them.</param>
/// <param name="MovedIn">Transferred in. Of a single place, from the compartment's other holding too.</param>
/// <param name="MovedOut">Transferred out.</param>
/// <param name="SweptIn">Swept in.</param>
/// <param name="SweptOut">Swept out.</param>
/// <param name="Over">Settled over.</param>
/// <param name="Short">Settled short.</param>
/// <param name="Corrected">Corrections of lines that belong to a closed month; negative when they took money
/// out.</param>
/// <param name="Closing">At the end of its last day.</param>
public sealed record FiguresAnswer(
    decimal Opening, decimal Filled, decimal Spent, decimal Refunded, decimal MovedIn, decimal MovedOut,
    decimal SweptIn, decimal SweptOut, decimal Over, decimal Short, decimal Corrected, decimal Closing)
{
    /// <summary>The figures by name, in the order in which they add up.</summary>
    internal static readonly IReadOnlyList<(string Name, Func<FiguresAnswer, decimal> Figure)> Columns =
    [
        ("opening", f => f.Opening), ("filled", f => f.Filled), ("spent", f => f.Spent), ("refunded", f => f.Refunded),
        ("movedIn", f => f.MovedIn), ("movedOut", f => f.MovedOut), ("sweptIn", f => f.SweptIn),
        ("sweptOut", f => f.SweptOut),
        ("over", f => f.Over), ("short", f => f.Short), ("corrected", f => f.Corrected), ("closing", f => f.Closing),
    ];

    /// <summary>The figures of one place.</summary>
    internal static FiguresAnswer OfPlace(TrailRow row, Currency? currency) =>
        Of(currency, row.Opening, row.Closing,
            column => row.In(column) + (Within.TryGetValue(column, out var within) ? row.In(within) : Money.Zero));

    /// <summary>
    /// The total figures of several places, whole compartments: what moved between the two holdings of one is no
    /// movement of it.
    /// </summary>
    internal static FiguresAnswer OfAll(IReadOnlyList<TrailRow> rows, Currency? currency)
    {
        Money Sum(Func<TrailRow, Money> what) => rows.Aggregate(Money.Zero, (sum, row) => sum + what(row));
        return Of(currency, Sum(row => row.Opening), Sum(row => row.Closing), column => Sum(row => row.In(column)));
    }

    /// <summary>The figures of months that follow one another, of the whole household.</summary>
    internal static FiguresAnswer OfMonths(IReadOnlyList<MonthRow> rows, Currency? currency) =>
        Of(currency, rows[0].Opening, rows[^1].Closing,
            column => rows.Aggregate(Money.Zero, (sum, row) => sum + row.In(column)));

    // Of a single place, what came from or went to the compartment's other holding moved too.
    private static readonly Dictionary<Column, Column> Within = new()
    {
        [Column.MovedIn] = Column.HoldingIn,
        [Column.MovedOut] = Column.HoldingOut
    };

    private static FiguresAnswer Of(Currency? currency, Money opening, Money closing, Func<Column, Money> changed)
    {
        decimal Say(Money money) => currency?.ToDecimal(money) ?? 0m;
        return new FiguresAnswer(
            Say(opening),
            Say(changed(Column.Filled)),
            Say(-changed(Column.Spent)),
            Say(changed(Column.Refunded)),
            Say(changed(Column.MovedIn)),
            Say(-changed(Column.MovedOut)),
            Say(changed(Column.SweptIn)),
            Say(-changed(Column.SweptOut)),
            Say(changed(Column.Over)),
            Say(-changed(Column.Short)),
            Say(changed(Column.Corrected)),
            Say(closing));
    }
}

/// <summary>A place's month.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">The wallet it is in; of a closed month, was in when it was closed.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Figures">Opening to closing.</param>
public sealed record PartTrail(string Compartment, string Label, string Wallet, Holding Holding,
    FiguresAnswer Figures);

/// <summary>A compartment's month, the total of cash and bank.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">The wallet it is in; of a closed month, was in when it was closed.</param>
/// <param name="Figures">Opening to closing.</param>
public sealed record CompartmentTrail(string Compartment, string Label, string Wallet, FiguresAnswer Figures);

/// <summary>A wallet's month.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Figures">The sums of its compartments' figures.</param>
public sealed record WalletTrail(string Wallet, string Label, FiguresAnswer Figures);

/// <summary>What one key wrote of one kind.</summary>
/// <param name="By">The key's name.</param>
/// <param name="Kind">The kind of line.</param>
/// <param name="Lines">How many.</param>
/// <param name="Amount">What they moved in total; of counts and settlements the over less the short.</param>
public sealed record WriterAnswer(string By, string Kind, int Lines, decimal Amount);

/// <summary>What moved from one place to another by transfers and sweeps, less what was undone.</summary>
/// <param name="From">Where it came from.</param>
/// <param name="To">Where it went.</param>
/// <param name="Amount">How much.</param>
public sealed record MoveAnswer(PartAnswer From, PartAnswer To, decimal Amount);

/// <summary>A line of the month, with what an auditor would mark on it.</summary>
/// <param name="Line">The line.</param>
/// <param name="DaysLate">Days between the day it occurred and the day it was recorded; 0 when on that day.</param>
/// <param name="Correction">It corrects another line, or is corrected by one.</param>
/// <param name="Unsettled">A count that disagrees and is not settled.</param>
public sealed record TrailLineAnswer(LineAnswer Line, int DaysLate, bool Correction, bool Unsettled);

/// <summary>An account of the trial balance: its balance, a debit or a credit.</summary>
/// <param name="Account">A place, such as <c>ferry-fares/cash</c>; <c>broughtForward</c>; or where money came from or
/// went to: filled, spent, refunded, over, short, corrected.</param>
/// <param name="Debit">What a place holds at the end of the month; what left the book.</param>
/// <param name="Credit">What was brought forward from the months before; what came into the book.</param>
public sealed record AccountAnswer(string Account, decimal Debit, decimal Credit)
{
    internal const string BroughtForward = "broughtForward";
}

/// <summary>Debits and credits of a month.</summary>
/// <param name="Accounts">Each account.</param>
/// <param name="Debit">Their debits.</param>
/// <param name="Credit">Their credits.</param>
/// <param name="Difference">Debits less credits: zero, or the book's tables do not agree with its lines.</param>
public sealed record TrialBalanceAnswer(IReadOnlyList<AccountAnswer> Accounts, decimal Debit, decimal Credit,
    decimal Difference);

/// <summary>Something to do before the month is closed.</summary>
/// <param name="Kind">What is open.</param>
/// <param name="Compartment">The compartment's id; absent for the bank's statement, which is about all bank
/// parts.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="On">The day of the month's last movement there, or of the count or statement.</param>
/// <param name="CountId">The count, if it is about one.</param>
/// <param name="Difference">What that count or statement is over or short.</param>
public sealed record OpenItemAnswer(OpenItemKind Kind, string? Compartment, Holding Holding, DateOnly On, long? CountId,
    decimal? Difference)
{
    /// <summary>The bank's statement, if it is about one.</summary>
    public long? StatementId { get; init; }

    /// <summary>An open item in this API's words.</summary>
    internal static OpenItemAnswer Of(OpenItem item, Currency? currency) => new(
        item.Kind, item.Place?.Compartment, item.Place?.Holding ?? Domain.Books.Holding.Bank, item.On, item.Count,
        item.Difference is { } difference ? currency?.ToDecimal(difference) : null)
    {
        StatementId = item.Statement,
    };
}

/// <summary>How a month was closed.</summary>
/// <param name="Line">The line that closed it.</param>
/// <param name="By">Name of the key that closed it.</param>
/// <param name="RecordedAt">The instant (UTC) at which it was closed.</param>
/// <param name="Reason">What was written beside it.</param>
/// <param name="With">The first month that was closed, of a month before that one: it was closed with it.</param>
public sealed record ClosedAnswer(long Line, string By, DateTimeOffset RecordedAt, string? Reason, string? With)
{
    /// <summary>How a month was closed, in this API's words.</summary>
    internal static ClosedAnswer Of(Month month, BookLine line)
    {
        var closed = (MonthClosed)line.Event;
        return new ClosedAnswer(line.Number, line.By, line.RecordedAt,
            closed.Reason is { Length: > 0 } reason ? reason : null,
            closed.Month == month ? null : closed.Month.ToString());
    }
}

/// <summary>A month as an auditor would want it.</summary>
/// <param name="Month">The month, as <c>2026-11</c>.</param>
/// <param name="Closed">How it was closed; absent while it is open.</param>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="Places">Each compartment and holding.</param>
/// <param name="Compartments">Each compartment, the total of cash and bank.</param>
/// <param name="Wallets">Each wallet.</param>
/// <param name="Household">All of it.</param>
/// <param name="Writers">Who did what.</param>
/// <param name="Moves">What moved between which places.</param>
/// <param name="Lines">The month's lines in date order, within a day as written.</param>
/// <param name="TrialBalance">Debits and credits; they are equal.</param>
/// <param name="Open">What is to be done before it is closed.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record TrailAnswer(
    string Month,
    ClosedAnswer? Closed,
    string? Currency,
    IReadOnlyList<PartTrail> Places,
    IReadOnlyList<CompartmentTrail> Compartments,
    IReadOnlyList<WalletTrail> Wallets,
    FiguresAnswer Household,
    IReadOnlyList<WriterAnswer> Writers,
    IReadOnlyList<MoveAnswer> Moves,
    IReadOnlyList<TrailLineAnswer> Lines,
    TrialBalanceAnswer TrialBalance,
    IReadOnlyList<OpenItemAnswer> Open,
    long BookLine)
{
    /// <summary>
    /// The chain's hash at the month's end: of the line that closed it, or of the book's last line while it is open.
    /// Kept elsewhere, it shows later whether anything before it was changed.
    /// </summary>
    public string? Hash { get; init; }

    /// <summary>A month's trail in this API's words.</summary>
    internal static TrailAnswer Of(MonthTrail read)
    {
        var (trail, book, closed, hash, _) = read;
        var currency = book.Household?.Currency;
        decimal Say(Money money) => currency?.ToDecimal(money) ?? 0m;
        string Label(string compartment) => book.Compartments[compartment].Label;
        var accounts = trail.TrialBalance.Select(row => new AccountAnswer(
            row.Account is { } part
                ? $"{part.Compartment}/{Spelling.Of(part.Holding)}"
                : row.Column is { } column ? Spelling.Of(column) : AccountAnswer.BroughtForward,
            Say(row.Debit), Say(row.Credit))).ToList();
        return new TrailAnswer(
            trail.Month.ToString(),
            closed is null ? null : ClosedAnswer.Of(trail.Month, closed),
            currency?.Code,
            [.. trail.Rows.Select(row =>
                new PartTrail(row.Place.Compartment, Label(row.Place.Compartment), row.Wallet, row.Place.Holding,
                    FiguresAnswer.OfPlace(row, currency)))],
            [
                .. trail.Rows.GroupBy(row => row.Place.Compartment)
                    .Select(g => new CompartmentTrail(g.Key, Label(g.Key), g.First().Wallet,
                        FiguresAnswer.OfAll([.. g], currency))),
            ],
            [
                .. trail.Rows.GroupBy(row => row.Wallet).OrderBy(g => book.Wallets[g.Key].Line)
                    .Select(g => new WalletTrail(g.Key, book.Wallets[g.Key].Label,
                        FiguresAnswer.OfAll([.. g], currency))),
            ],
            FiguresAnswer.OfAll(trail.Rows, currency),
            [.. trail.Writers.Select(w => new WriterAnswer(w.By, LineKinds.Of(w.Line), w.Lines, Say(w.Amount)))],
            [.. trail.Moves.Select(m => new MoveAnswer(PartAnswer.Of(m.From), PartAnswer.Of(m.To), Say(m.Amount)))],
            [.. trail.Lines.Select(l =>
                new TrailLineAnswer(LineAnswer.Of(l.Line, book), l.DaysLate, l.IsCorrection, l.Unsettled))],
            new TrialBalanceAnswer(accounts, accounts.Sum(a => a.Debit), accounts.Sum(a => a.Credit),
                Say(trail.Difference)),
            [.. trail.Open.Select(o => OpenItemAnswer.Of(o, currency))], book.Line)
        { Hash = hash };
    }
}
