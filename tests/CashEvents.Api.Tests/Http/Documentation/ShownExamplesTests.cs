using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>What the document's page offers to try works on the demo household, sent exactly as it is shown.</summary>
public sealed class ShownExamplesTests(DemoServer demo)
{
    [ThoroughFact]
    public async Task Each_example_works_on_the_demo_household_whatever_else_was_tried()
    {
        var offered = (await demo.OperationsAsync()).Where(o => o.IsOffered).ToList();
        Assert.True(offered.Count > 70, $"Only {offered.Count} are offered.");
        // One household that gets all of them in the order of the page, and for each that writes a household that has
        // seen no other.
        var all = await demo.DemoAsync();

        var failed = new List<string>();
        foreach (var operation in offered)
        {
            foreach (var household in operation.Method == "GET" ? [all] : new[] { all, await demo.DemoAsync() })
            {
                var reply = await operation.SendAsync(household.Keeper);
                if (reply.Status is < 200 or >= 300)
                {
                    failed.Add($"{operation} {(household == all ? "after others" : "by itself")}: "
                        + $"{reply.Status} {reply.Text}");
                }
            }
        }

        Assert.True(failed.Count == 0, string.Join("\n", failed));
    }

    [Fact]
    public async Task The_same_movement_may_be_tried_twice_and_is_written_twice()
    {
        var household = await demo.DemoAsync();
        var spends = (await demo.OperationsAsync()).Single(o => o.Path == "/api/spends");
        var before = await household.LineAsync();

        await MustWorkAsync(spends, household);
        await MustWorkAsync(spends, household);

        Assert.Equal(before + 2, await household.LineAsync());
    }

    [Fact]
    public async Task What_is_not_offered_says_why()
    {
        var held = (await demo.OperationsAsync()).Where(o => !o.IsOffered).ToList();

        Assert.Contains(held, o => o.Path == "/api/count-rounds/{id}");
        Assert.All(held, o => Assert.Contains("Not to try here: ",
            o.Shown.GetProperty("description").GetString()));
    }

    private static async Task MustWorkAsync(Operation operation, Household household)
    {
        var reply = await operation.SendAsync(household.Keeper);
        Assert.True(reply.Status is >= 200 and < 300,
            $"{operation} with {operation.Body}: {reply.Status} {reply.Text}");
    }
}
