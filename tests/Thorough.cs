namespace CashEvents.Tests;

/// <summary>
/// How much a test repeats: a little at hand, so that all tests end in minutes; all of it where CI is set.
/// </summary>
internal static class Thorough
{
    /// <summary>Whether nothing is left out.</summary>
    public static bool Everything { get; } = !string.IsNullOrEmpty(Environment.GetEnvironmentVariable("CI"));

    /// <summary>How often something is repeated.</summary>
    public static int Times(int atHand, int all) => Everything ? all : atHand;
}
