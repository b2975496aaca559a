namespace CashEvents.Domain.Paydays;

/// <summary>What a compartment is to get in the stead of what is worked out.</summary>
/// <param name="Cash">In cash, in major units as written; as worked out if left out.</param>
/// <param name="Bank">In the bank; as worked out if left out.</param>
public sealed record FillAmount(decimal? Cash, decimal? Bank);
