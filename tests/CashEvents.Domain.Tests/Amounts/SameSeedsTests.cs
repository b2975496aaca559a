using CsCheck;

namespace CashEvents.Domain.Tests.Amounts;

/// <summary>Generated cases are those of the last run.</summary>
public class SameSeedsTests
{
    [Fact]
    public void The_first_cases_of_a_test_are_always_the_same()
    {
        Assert.SkipWhen(Environment.GetEnvironmentVariable("CASHEVENTS_TEST_SEEDS") == "fresh"
            || Environment.GetEnvironmentVariable("CsCheck_Seed") is not null, "Others were asked for.");
        var drawn = new List<int>();

        Gen.Int[0, 999].Sample(drawn.Add, iter: 4);

        Assert.Equal([775, 462, 728, 451], drawn);
    }
}
