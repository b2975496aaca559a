using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.Net.Http.Headers;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>What came back.</summary>
internal sealed record Reply(int Status, string Text, string? ContentType, string? ETag,
    IReadOnlyDictionary<string, string> Headers)
{
    /// <summary>The body, which must be JSON.</summary>
    public JsonElement Json => JsonDocument.Parse(Text).RootElement;

    public static async Task<Reply> ReadAsync(HttpResponseMessage response) => new(
        (int)response.StatusCode,
        await response.Content.ReadAsStringAsync(TestContext.Current.CancellationToken),
        response.Content.Headers.ContentType?.MediaType,
        response.Headers.TryGetValues("ETag", out var tags) ? tags.Single() : null,
        response.Headers.Concat(response.Content.Headers)
            .ToDictionary(h => h.Key, h => string.Join(", ", h.Value), StringComparer.OrdinalIgnoreCase));

    /// <summary>The book's line that its tag begins with; null where it has no tag.</summary>
    public long? BookLine => ETag is null ? null : Answers.LineOf(new EntityTagHeaderValue(ETag));

    /// <summary>Asserts the status and shows the body where it is another.</summary>
    public Reply MustBe(int status)
    {
        Assert.True(Status == status, $"Status {Status} instead of {status}: {Text}");
        return this;
    }

    /// <summary>
    /// Asserts the whole body, number by number as written; only white space and the order of fields may differ.
    /// </summary>
    public Reply MustSay(string json)
    {
        Assert.Equal(Compact(json), Compact(Text));
        return this;
    }

    /// <summary>
    /// Asserts fields of the body, number by number as written. What it says besides is free: the whole is held once,
    /// where the answer is made.
    /// </summary>
    public Reply MustHave(string json)
    {
        var wanted = Sorted(JsonNode.Parse(json));
        Assert.Equal(wanted!.ToJsonString(), Like(wanted, Sorted(JsonNode.Parse(Text)))?.ToJsonString());
        return this;
    }

    /// <summary>Asserts a problem answer by RFC 9457 with a code, and that it tells what to do.</summary>
    public JsonElement MustBeProblem(int status, string code)
    {
        MustBe(status);
        Assert.Equal("application/problem+json", ContentType);
        var problem = Json;
        Assert.Equal(status, problem.GetProperty("status").GetInt32());
        Assert.Equal($"/problems/{code}", problem.GetProperty("type").GetString());
        Assert.True(ProblemKind.All.ContainsKey(code), $"docs/problems.md says nothing of `{code}`.");
        Assert.False(string.IsNullOrWhiteSpace(problem.GetProperty("title").GetString()));
        Assert.False(string.IsNullOrWhiteSpace(problem.GetProperty("detail").GetString()));
        Assert.Equal(code, problem.GetProperty("code").GetString());
        return problem;
    }

    /// <summary>Asserts a problem answer that names a field and the mend.</summary>
    public string MustBlame(int status, string code, string field)
    {
        var errors = MustBeProblem(status, code).GetProperty("errors");
        Assert.True(errors.TryGetProperty(field, out var mends), $"`{field}` is not blamed: {Text}");
        return mends[0].GetString()!;
    }

    /// <summary>Numbers of the lines it wrote.</summary>
    public long[] Lines => [.. Json.GetProperty("lines").EnumerateArray().Select(l => l.GetInt64())];

    private static string Compact(string json) => Sorted(JsonNode.Parse(json))!.ToJsonString();

    // Of objects only the fields that are wanted; of lists all.
    private static JsonNode? Like(JsonNode? wanted, JsonNode? there) => (wanted, there) switch
    {
        (JsonObject w, JsonObject t) => new JsonObject(w.Where(field => t.ContainsKey(field.Key))
            .Select(field => KeyValuePair.Create(field.Key, Like(field.Value, t[field.Key])))),
        (JsonArray w, JsonArray t) => new JsonArray([.. t.Select((item, i) => Like(w.ElementAtOrDefault(i), item))]),
        _ => there?.DeepClone(),
    };

    private static JsonNode? Sorted(JsonNode? node) => node switch
    {
        JsonObject o => new JsonObject(o.OrderBy(field => field.Key, StringComparer.Ordinal)
            .Select(field => KeyValuePair.Create(field.Key, Sorted(field.Value)))),
        JsonArray a => new JsonArray([.. a.Select(Sorted)]),
        _ => node?.DeepClone(),
    };
}
