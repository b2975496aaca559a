using System.Text.Json;
using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>What was rehearsed is what comes of writing the same.</summary>
public sealed partial class GeneratedRehearsalTests(SharedServer shared)
{
    [Fact]
    public async Task Balances_sheets_counts_and_refusals_are_those_of_really_writing_the_same()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var household = await shared.HarbourRowAsync();
        var history = new GeneratedHistory(household, seed);
        await history.SendAsync(80);
        var (granted, refused) = (0, 0);

        for (var round = 0; round < 45; round++)
        {
            if (round is 20 or 35)
            {
                (await household.Keeper.PostAsync($"/api/months/{(round == 20 ? "2026-09" : "2026-10")}/close",
                    """{"reason": "Not counted"}""")).MustBe(201);
            }

            var supposed = Enumerable.Range(0, 1 + (round % 5)).Select(_ => history.Suppose()).ToList();
            var rehearsed = await household.WithoutWritingAsync(
                keeper => keeper.PostAsync("/api/rehearsals",
                    $$"""{"suppose": [{{string.Join(", ", supposed.Select(s => s.Supposed))}}]}"""));
            var written = new List<Reply>();
            foreach (var (_, address, body) in supposed.TakeWhile(_ => written.All(w => w.Status is 200 or 201)))
            {
                written.Add(await household.Keeper.PostAsync(address, body));
            }

            written.ForEach(history.Note);
            if (rehearsed.Status == 200)
            {
                Assert.True(written.All(w => w.Status is 200 or 201),
                    $"Seed {seed}, round {round}: {written[^1].Text}");
                await MustHaveComeTrueAsync(household, rehearsed.Json);
                granted++;
            }
            else
            {
                var code = rehearsed.Json.GetProperty("code").GetString();
                Assert.True(rehearsed.Status is 409 or 422, $"Seed {seed}, round {round}: {rehearsed.Text}");
                Assert.Equal(code, written[^1].Json.GetProperty("code").GetString());
                Assert.Equal(written.Count - 1,
                    int.Parse(Place().Match(rehearsed.Json.GetProperty("errors").EnumerateObject()
                        .Single().Name).Groups[1].Value));
                refused++;
            }
        }

        Assert.True(granted > 2 && refused > 2, $"Seed {seed}: {granted} granted, {refused} refused");
    }

    private static async Task MustHaveComeTrueAsync(Household household, JsonElement rehearsed)
    {
        var balances = (await household.Keeper.GetAsync("/api/balances")).MustBe(200).Json;
        foreach (var part in new[] { "compartments", "wallets", "household" })
        {
            Assert.Equal(balances.GetProperty(part).GetRawText(),
                rehearsed.GetProperty("balances").GetProperty(part).GetRawText());
        }

        foreach (var sheet in rehearsed.GetProperty("trackers").EnumerateArray())
        {
            var from = sheet.GetProperty("from").GetString()!;
            var rows = new List<JsonElement>();
            foreach (var month in new[] { "2026-09", "2026-10", "2026-11" })
            {
                var written = (await household.Keeper.GetAsync(
                    $"/api/compartments/{sheet.GetProperty("compartment").GetString()}/tracker?month={month}"))
                    .MustBe(200).Json;
                rows.AddRange(written.GetProperty("rows").EnumerateArray()
                    .Where(r => string.CompareOrdinal(r.GetProperty("date").GetString(), from) >= 0));
            }

            Assert.Equal(rows.Select(Row), sheet.GetProperty("rows").EnumerateArray().Select(Row));
        }

        var book = await household.Server.Books.ReplayAsync(household.Id);
        var counts = book.Compartments.Values.OrderBy(c => c.Line)
            .SelectMany(c => Enum.GetValues<Holding>()
                .Select(h => (c.Id, Holding: h, Count: book.LastCount(new Part(c.Id, h)))))
                .Where(c => c.Count is not null);
        Assert.Equal(
            counts.Select(c => (c.Id, c.Holding.ToString(), book.Currency.ToDecimal(c.Count!.Expected),
                book.Currency.ToDecimal(c.Count.Difference), c.Count.Settled)),
            rehearsed.GetProperty("counts").EnumerateArray().Select(c => (
                c.GetProperty("compartment").GetString()!, c.GetProperty("holding").GetString() == "cash"
                    ? "Cash"
                    : "Bank",
                c.GetProperty("expected").GetDecimal(), c.GetProperty("difference").GetDecimal(),
                c.GetProperty("settled").GetBoolean())));
    }

    private static readonly string[] _cells =
        ["date", "kind", "holding", "description", "amount", "balance", "reverses", "amends"];

    private static string Row(JsonElement row) => string.Join(' ', _cells
        .Select(field => row.TryGetProperty(field, out var value) ? value.GetRawText() : "-"));

    [GeneratedRegex(@"^suppose\[(\d+)\]")]
    private static partial Regex Place();
}
