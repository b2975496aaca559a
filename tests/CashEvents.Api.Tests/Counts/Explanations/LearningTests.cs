using Xunit;

namespace CashEvents.Api.Tests.Counts;

/// <summary>What a household found behind one count moves what is said of the next.</summary>
public sealed class LearningTests(SharedServer shared)
{
    [Fact]
    public async Task What_was_accepted_or_put_right_by_hand_is_likelier_next_time_and_less_so_after_a_loss()
    {
        // Of the count of the market days, 5.70 is 7.50 with two figures changed. Where it was written right at once,
        // the same lines stand: only what was found is different.
        var right = await TransposedAsync((_, _) => null, written: "7.50");
        var open = await TransposedAsync((_, _) => null);
        var accepted = await TransposedAsync((count, line) => ($"/api/counts/{count}/settlement",
            $$"""{"explanation": "transposed-{{line}}-750"}"""));
        var byHand = await TransposedAsync((_, line) => ($"/api/lines/{line}/amendment",
            """{"reason": "Read again", "replacement": {"kind": "spend", "compartment": "market-days", "amount": 7.50, "description": "Apples"}}"""));
        var lost = await TransposedAsync((count, _) => ($"/api/counts/{count}/settlement",
            """{"reason": "It fell into the harbour"}"""));

        Assert.True(accepted > right, $"{accepted} after it was accepted, {right} without");
        Assert.Equal(accepted, byHand);
        Assert.True(lost < open, $"{lost} after a loss, {open} without");
    }

    // How likely two figures changed places in the ferry fares, after what became of the market days' count.
    private async Task<decimal> TransposedAsync(Func<long, long, (string Path, string Body)?> found,
        string written = "5.70")
    {
        var household = await shared.HarbourRowAsync();
        async Task<Reply> PostAsync(string path, string body) =>
            (await household.Keeper.PostAsync(path, body)).MustBe(201);
        await PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 100, "occurredOn": "2026-11-01"}""");
        var ferry = (await PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 9.80, "occurredOn": "2026-11-10", "description": "Return"}""")).Lines[^1];
        await PostAsync("/api/fills", """{"compartment": "market-days", "amount": 100, "occurredOn": "2026-11-01"}""");
        var line = (await PostAsync("/api/spends", $$"""{"compartment": "market-days", "amount": {{written}}, "occurredOn": "2026-11-05", "description": "Apples"}""")).Lines[^1];
        var first = await PostAsync("/api/counts", """{"compartment": "market-days", "total": 92.50, "occurredOn": "2026-11-08"}""");
        if (found(first.Json.GetProperty("countId").GetInt64(), line) is var (path, body))
        {
            await PostAsync(path, body);
        }

        var count = (await PostAsync("/api/counts", """{"compartment": "ferry-fares", "total": 91.10, "occurredOn": "2026-11-15"}"""))
            .Json.GetProperty("countId").GetInt64();
        return (await household.Keeper.GetAsync($"/api/counts/{count}/explanations?limit=20")).MustBe(200).Json
            .GetProperty("explanations").EnumerateArray()
            .Single(e => e.GetProperty("explanation").GetString() == $"transposed-{ferry}-890")
            .GetProperty("likelihood").GetDecimal();
    }
}
