namespace CashEvents.Api.Movements;

/// <summary>A place and what it holds.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Balance">What it holds.</param>
public sealed record BalanceAnswer(string Compartment, Holding Holding, decimal Balance);

/// <summary>What a sweep took of a compartment, and what it left there.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Taken">0 where it was passed over.</param>
/// <param name="Left">What it held at the end of the day of the sweep.</param>
public sealed record SweptAnswer(string Compartment, Holding Holding, decimal Taken, decimal Left)
{
    internal static IReadOnlyList<SweptAnswer>? Of(Entry entry, Currency? currency) =>
        entry.Swept is not { } swept ? null
        : [.. swept.Select(s => new SweptAnswer(s.Place.Compartment, s.Place.Holding, currency!.ToDecimal(s.Taken),
            currency.ToDecimal(s.Left)))];
}

/// <summary>What a movement wrote.</summary>
/// <param name="Lines">Numbers of the lines it wrote; none if there was nothing to do.</param>
/// <param name="EntryId">The entry they belong to: the number of its first line.</param>
/// <param name="Balances">The places it touched, as it left them.</param>
public sealed record MovementAnswer(IReadOnlyList<long> Lines, long? EntryId, IReadOnlyList<BalanceAnswer> Balances)
{
    /// <summary>The count's id, by which it is settled: the number of its line.</summary>
    public long? CountId { get; init; }

    /// <summary>The bank statement's id, by which it is settled: the number of its line.</summary>
    public long? StatementId { get; init; }

    /// <summary>
    /// For a bank statement: what each compartment had in the bank, which makes up what was expected.
    /// </summary>
    public IReadOnlyList<BankPartAnswer>? Parts { get; init; }

    /// <summary>What the book expected to be there.</summary>
    public decimal? Expected { get; init; }

    /// <summary>What was found, or the bank states.</summary>
    public decimal? Counted { get; init; }

    /// <summary>Counted minus expected: over when positive, short when negative.</summary>
    public decimal? Difference { get; init; }

    /// <summary>
    /// Of a sweep: what it took of each compartment and left there, of those that it passed over too.
    /// </summary>
    public IReadOnlyList<SweptAnswer>? Swept { get; init; }

    /// <summary>Why nothing was written, or what to be sure of.</summary>
    public string? Note { get; init; }

    /// <summary>An entry in this API's words.</summary>
    internal static MovementAnswer Of(Entry entry, Currency currency) =>
        entry.BankStatement is { } statement ? Plain(entry, currency) with
        {
            StatementId = entry.Id,
            Expected = currency.ToDecimal(statement.Expected),
            Counted = currency.ToDecimal(statement.Stated),
            Difference = currency.ToDecimal(statement.Difference),
            Parts = [.. statement.Parts.Select(p => new BankPartAnswer(p.Compartment, currency.ToDecimal(p.Amount)))],
        }
    : Plain(entry, currency);

    private static MovementAnswer Plain(Entry entry, Currency currency) => new(
        entry.Lines, entry.Id, [.. entry.Balances.Select(
            b => new BalanceAnswer(b.Place.Compartment, b.Place.Holding, currency.ToDecimal(b.Balance)))])
    {
        CountId = entry.Count?.Line,
        Expected = entry.Count is { } e ? currency.ToDecimal(e.Expected) : null,
        Counted = entry.Count is { } c ? currency.ToDecimal(c.Counted) : null,
        Difference = entry.Count is { } d ? currency.ToDecimal(d.Difference) : null,
        Swept = SweptAnswer.Of(entry, currency),
        Note = entry.Lines.IsEmpty
            ? "Nothing to sweep: none of these compartments holds more than is to be left in it. Nothing was written."
            : null,
    };
}
