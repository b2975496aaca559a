using CashEvents.Domain.Amounts;
using CashEvents.Domain.Compartments;
using CashEvents.Store.Writing;

namespace CashEvents.Api.Movements;

/// <summary>A place and what it holds.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Balance">What it holds.</param>
public sealed record BalanceAnswer(string Compartment, Holding Holding, decimal Balance);

/// <summary>What a movement wrote.</summary>
/// <param name="Lines">Numbers of the lines it wrote; none if there was nothing to do.</param>
/// <param name="EntryId">The entry they belong to: the number of its first line.</param>
/// <param name="Balances">The places it touched, as it left them.</param>
public sealed record MovementAnswer(IReadOnlyList<long> Lines, long? EntryId, IReadOnlyList<BalanceAnswer> Balances)
{
    /// <summary>The count's id, by which it is settled: the number of its line.</summary>
    public long? CountId { get; init; }

    /// <summary>What the book expected to be there.</summary>
    public decimal? Expected { get; init; }

    /// <summary>What was found.</summary>
    public decimal? Counted { get; init; }

    /// <summary>Counted minus expected: over when positive, short when negative.</summary>
    public decimal? Difference { get; init; }

    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }

    /// <summary>An entry in this API's words.</summary>
    internal static MovementAnswer Of(Entry entry, Currency currency) => new(
        entry.Lines, entry.Id, [.. entry.Balances.Select(b => new BalanceAnswer(b.Place.Compartment, b.Place.Holding, currency.ToDecimal(b.Balance)))])
    {
        CountId = entry.Count?.Line,
        Expected = entry.Count is { } e ? currency.ToDecimal(e.Expected) : null,
        Counted = entry.Count is { } c ? currency.ToDecimal(c.Counted) : null,
        Difference = entry.Count is { } d ? currency.ToDecimal(d.Difference) : null,
        Note = entry.Lines.IsEmpty ? "Nothing to sweep: none of these compartments holds more than is to be left in it. Nothing was written." : null,
    };
}
