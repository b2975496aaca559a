using System.Globalization;

namespace CashEvents.Page.Paydays;

/// <summary>A balance as a line of steps: money does not slope.</summary>
/// <param name="Points">Days from the first on, and the balance from there on.</param>
public sealed record StepLine(IReadOnlyList<(int Day, decimal Balance)> Points)
{
    /// <summary>How wide it is drawn.</summary>
    public const int Width = 320;

    /// <summary>How high.</summary>
    public const int Height = 72;

    private decimal Highest => Math.Max(Points.Max(p => p.Balance), 1);

    private decimal Lowest => Math.Min(Points.Min(p => p.Balance), 0);

    /// <summary>Where zero is.</summary>
    public string Zero => Text(Y(0));

    /// <summary>The line, for the path of an SVG picture.</summary>
    public string Path => string.Concat(Points.Select((p, i) => i == 0 ? $"M{Text(X(p.Day))} {Text(Y(p.Balance))}"
        : $"H{Text(X(p.Day))}V{Text(Y(p.Balance))}")) + $"H{Width}";

    private decimal X(int day) => Width * day / Math.Max(1m, Points[^1].Day);

    private decimal Y(decimal balance) => 4 + ((Height - 8) * (Highest - balance) / (Highest - Lowest));

    private static string Text(decimal number) => number.ToString("0.#", CultureInfo.InvariantCulture);
}
