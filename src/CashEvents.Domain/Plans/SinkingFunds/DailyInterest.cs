namespace CashEvents.Domain.Plans;

/// <summary>
/// Interest by days: the yearly nominal rate times the days gone, divided by 365 in every year. Actual/365 (Fixed),
/// 2006 ISDA Definitions, section 4.16(d).
/// How many paydays happen to lie in a year makes no difference to it.
/// </summary>
public static class DailyInterest
{
    /// <summary>What one unit earns in some days, as a part of one.</summary>
    /// <param name="yearly">The nominal rate of a year, as a part of one.</param>
    /// <param name="days">Days from one crediting to the next, zero or more.</param>
    public static decimal Part(decimal yearly, int days) => yearly * days / 365m;

    /// <summary>
    /// What a bank part earns in some days, in whole minor units: a fraction of one is not counted on.
    /// </summary>
    public static Money On(Money bank, decimal yearly, int days) =>
        new((long)decimal.Floor(bank.Minor * yearly * days / 365m));
}
