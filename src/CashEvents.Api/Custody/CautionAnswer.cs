namespace CashEvents.Api.Custody;

/// <summary>
/// Something that whoever keeps cash should know. It holds nobody up; the person's own policy and local law go before
/// it.
/// </summary>
/// <param name="Code">What it is about, for programs: <c>cash-at-home</c>, <c>cash-carried</c> or
/// <c>draw-reported</c>.</param>
/// <param name="Amount">The amount that it is about.</param>
/// <param name="Limit">What that is above.</param>
/// <param name="Source">Where the limit comes from.</param>
/// <param name="Detail">The same in words.</param>
public sealed record CautionAnswer(string Code, decimal Amount, decimal Limit, string Source, string Detail)
{
    /// <summary>Cautions in this API's words; null when there are none.</summary>
    internal static IReadOnlyList<CautionAnswer>? Of(IEnumerable<Caution> cautions, Currency? currency) =>
        cautions.Select(c => new CautionAnswer(c.Code, currency!.ToDecimal(c.Amount),
            currency.ToDecimal(c.Limit.Amount), c.Limit.Source, c.Detail)).ToList() is { Count: > 0 } said
                ? said
                : null;
}

/// <summary>An amount above which a caution is due.</summary>
/// <param name="Amount">Cautioned is what is above it.</param>
/// <param name="Source">Where it comes from.</param>
public sealed record LimitAnswer(decimal Amount, string Source)
{
    internal static LimitAnswer? Of(Limit? limit, Currency? currency) =>
        limit is null ? null : new LimitAnswer(currency!.ToDecimal(limit.Amount), limit.Source);
}
