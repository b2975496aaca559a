namespace CashEvents.Sheets.Paydays;

/// <summary>A bill on a line of balances to come.</summary>
/// <param name="On">The day on which it is paid.</param>
/// <param name="Label">What it is called.</param>
/// <param name="Amount">How much.</param>
public sealed record BillAhead(DateOnly On, string Label, decimal Amount);

/// <summary>A compartment's balances to come, to be drawn as a line with steps.</summary>
/// <param name="Label">Whose they are.</param>
/// <param name="Points">Days from which on a balance holds, in date order, at least one.</param>
/// <param name="Bills">Bills that are paid of it, in date order.</param>
/// <param name="Short">Days on which something begins to be short.</param>
public sealed record LineAhead(string Label, IReadOnlyList<DayBalance> Points, IReadOnlyList<BillAhead> Bills,
    IReadOnlyList<DateOnly> Short)
{
    /// <summary>What there is at the end of a day.</summary>
    public decimal On(DateOnly day) => Points.Last(point => point.Day <= day).Balance;
}
