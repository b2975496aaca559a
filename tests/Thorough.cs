using System.Reflection;
using System.Runtime.CompilerServices;
using Xunit;
using Xunit.Sdk;
using Xunit.v3;

namespace CashEvents.Tests;

/// <summary>
/// How much a test repeats: a little at hand, so that all tests end in minutes; all of it where CI is set.
/// </summary>
internal static class Thorough
{
    /// <summary>Why a test or a row of it is left out at hand.</summary>
    public const string LeftOut = "dear: it runs where CI is set (CI=true dotnet test)";

    /// <summary>Whether nothing is left out.</summary>
    public static bool Everything { get; } = !string.IsNullOrEmpty(Environment.GetEnvironmentVariable("CI"));

    /// <summary>How often something is repeated.</summary>
    public static int Times(int atHand, int all) => Everything ? all : atHand;
}

/// <summary>A fact that is left out at hand: it starts the program often, or a browser, or waits long.</summary>
[AttributeUsage(AttributeTargets.Method)]
internal sealed class ThoroughFactAttribute : FactAttribute
{
    public ThoroughFactAttribute([CallerFilePath] string? file = null, [CallerLineNumber] int line = -1)
        : base(file, line)
    {
        if (!Thorough.Everything)
        {
            Skip = Thorough.LeftOut;
        }
    }
}

/// <summary>A row of a theory that is left out at hand: the rows before it stand for it.</summary>
[AttributeUsage(AttributeTargets.Method, AllowMultiple = true)]
internal sealed class ThoroughDataAttribute : DataAttribute
{
    private readonly object?[] _values;

    public ThoroughDataAttribute(params object?[] values)
    {
        _values = values;
        if (!Thorough.Everything)
        {
            Skip = Thorough.LeftOut;
        }
    }

    public override ValueTask<IReadOnlyCollection<ITheoryDataRow>> GetData(MethodInfo testMethod,
        DisposalTracker disposalTracker) => new([ConvertDataRow(_values)]);

    public override bool SupportsDiscoveryEnumeration() => true;
}
