using System.Text.Json;
using System.Text.Json.Nodes;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// PostgreSQL can't keep every text that JSON can say. What it can't is refused before it is written: it would take
/// along whatever is written with it.
/// </summary>
public sealed class UnprintableTests(SharedServer shared)
{
    private static readonly string[] _more = ["description", "reason", "witness", "carrier", "idempotencyKey"];

    public static TheoryData<int, string> All =>
        [.. WritingRequests.All.Select((r, i) => (i, r.Request.Operation))
            .Where(r => WritingRequests.All[r.i].Request.Body is not null)
            .Where(r => Thorough.Everything || r.i % 4 == 0)];

    [Theory]
    [MemberData(nameof(All))]
    public async Task A_text_that_PostgreSQL_can_not_keep_is_refused_wherever_it_stands(int place, string operation)
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        await household.IssueAsync("partner", "member");
        await household.FillAsync("market-days", "100.00");
        var sent = WritingRequests.All[place];
        var line = await household.ReadyAsync(sent);

        foreach (var body in Spoilt(sent.Request.Body!))
        {
            var reply = await household.WithoutWritingAsync(
                keeper => keeper.SendAsync(sent.Request with { Body = body }, line));

            Assert.True(reply.Status is >= 400 and < 500, $"{operation} {body}: {reply.Status} {reply.Text}");
        }
    }

    // The body with each of its texts spoilt in turn, and with each text that it may have and does not.
    private static IEnumerable<string> Spoilt(string body)
    {
        var texts = Texts(JsonNode.Parse(body)!, "").ToList();
        foreach (var path in texts)
        {
            var spoilt = JsonNode.Parse(body)!;
            At(spoilt, path).ReplaceWith(JsonValue.Create("a\0b"));
            yield return spoilt.ToJsonString();
        }

        foreach (var more in _more.Where(m => !texts.Contains($".{m}")))
        {
            var longer = JsonNode.Parse(body)!.AsObject();
            longer[more] = "a\0b";
            yield return longer.ToJsonString();
        }
    }

    private static IEnumerable<string> Texts(JsonNode node, string path) => node switch
    {
        JsonObject o => o.SelectMany(p => Texts(p.Value!, $"{path}.{p.Key}")),
        JsonArray a => a.SelectMany((item, i) => Texts(item!, $"{path}.{i}")),
        JsonValue v when v.GetValueKind() == JsonValueKind.String => [path],
        _ => [],
    };

    private static JsonNode At(JsonNode node, string path) => path.Split('.', StringSplitOptions.RemoveEmptyEntries)
        .Aggregate(node, (n, step) => n is JsonArray array ? array[int.Parse(step)]! : n[step]!);
}
