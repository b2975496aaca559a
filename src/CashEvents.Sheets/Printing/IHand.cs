namespace CashEvents.Sheets.Printing;

/// <summary>How figures and days are written for a reader: on paper, or in the language of a browser.</summary>
public interface IHand
{
    /// <summary>An amount with as many decimals as it has, such as <c>1,234.50</c>.</summary>
    /// <param name="amount">Major units, with the currency's decimals.</param>
    string Amount(decimal amount);

    /// <summary>A mark on a scale: only the decimals it needs.</summary>
    /// <param name="value">Major units.</param>
    string Mark(decimal value);

    /// <summary>A day with its year, such as <c>3 Nov 2026</c>.</summary>
    string DayOfYear(DateOnly day);

    /// <summary>A month's short name, such as <c>Nov</c>.</summary>
    /// <param name="first">A day of it.</param>
    string ShortMonth(DateOnly first);
}
