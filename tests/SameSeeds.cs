using System.Reflection;
using System.Runtime.CompilerServices;
using CsCheck;
using Xunit.v3;

[assembly: CashEvents.Tests.SameSeeds]

namespace CashEvents.Tests;

/// <summary>
/// Generated cases are the same in each run, so that a check of work that is right does not fail by chance. With
/// CASHEVENTS_TEST_SEEDS=fresh they are others each time; a failure prints the seed that repeats it, for CsCheck_Seed.
/// </summary>
[AttributeUsage(AttributeTargets.Assembly)]
public sealed class SameSeedsAttribute : BeforeAfterTestAttribute
{
    private static readonly bool _fresh =
        Environment.GetEnvironmentVariable("CASHEVENTS_TEST_SEEDS") == "fresh"
            || Environment.GetEnvironmentVariable("CsCheck_Seed") is not null;

    // The library seeds the generator of a thread by the clock, and has no setting for more than the first case.
    private static readonly FieldInfo _ofThread =
        typeof(PCG).GetField("threadPCG", BindingFlags.NonPublic | BindingFlags.Static)
            ?? throw new InvalidOperationException("CsCheck keeps its generator elsewhere now.");

    /// <summary>A seed for a history that a test makes by itself.</summary>
    public static int Next([CallerMemberName] string test = "") =>
        _fresh ? Random.Shared.Next() : (int)(Of(test) % int.MaxValue);

    /// <inheritdoc />
    public override void Before(MethodInfo methodUnderTest, IXunitTest test)
    {
        ArgumentNullException.ThrowIfNull(methodUnderTest);
        if (!_fresh)
        {
            // What other threads draw depends on which of them comes first.
            Check.Threads = 1;
            _ofThread.SetValue(null, new PCG(1, Of(methodUnderTest.Name)));
        }
    }

    private static ulong Of(string name) => name.Aggregate(17UL, (seed, letter) => unchecked((seed * 31) + letter));
}

/// <summary>How many cases a test draws.</summary>
internal static class GeneratedCases
{
    private static readonly int _most =
        int.TryParse(Environment.GetEnvironmentVariable("CASHEVENTS_TEST_CASES"), out var most) ? most : int.MaxValue;

    /// <summary>As many as usual, or as CASHEVENTS_TEST_CASES allows: where tests run again and again.</summary>
    public static int Of(int usual) => Math.Min(usual, _most);
}
