using System.Text.Json;
using System.Text.Json.Nodes;

namespace CashEvents.Api.Tests.Http;

/// <summary>The OpenAPI document as a reader sees it who follows each reference to an answer, a parameter or a header.
/// </summary>
internal static class WholeDocument
{
    private static readonly string[] _shared = ["responses", "parameters", "headers"];

    /// <summary>The document with those references replaced by what they refer to; schemas stay referred to.</summary>
    public static JsonElement Of(string document)
    {
        var root = JsonNode.Parse(document)!.AsObject();
        root["paths"] = Whole(root["paths"], root["components"]!);
        return JsonDocument.Parse(root.ToJsonString()).RootElement;
    }

    private static JsonNode? Whole(JsonNode? node, JsonNode components) => node switch
    {
        JsonObject thing when (string?)(thing["$ref"] as JsonValue) is { } to
            && to.Split('/') is [_, _, var sort, var name]
            && _shared.Contains(sort) => Whole(components[sort]![name], components),
        JsonObject thing => new JsonObject(
            thing.Select(field => KeyValuePair.Create(field.Key, Whole(field.Value, components)))),
        JsonArray list => new JsonArray([.. list.Select(one => Whole(one, components))]),
        _ => node?.DeepClone(),
    };
}
