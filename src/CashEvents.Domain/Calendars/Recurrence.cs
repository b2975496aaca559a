namespace CashEvents.Domain.Calendars;

/// <summary>Days that come again and again by a rule of RFC 5545, section 3.3.10.</summary>
/// <param name="Rule">Such as <c>FREQ=MONTHLY;BYMONTHDAY=-1</c>; it tells days, nothing finer.</param>
/// <param name="First">The first of the days, from which the rule counts.</param>
public sealed record Recurrence(string Rule, DateOnly First);
