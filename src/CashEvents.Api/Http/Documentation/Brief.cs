using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace CashEvents.Api.Http;

/// <summary>
/// The document without what it says twice: parameters that several addresses take stand once among the components,
/// a reference repeats no description of what it refers to, and what many schemas say of a field of one name is said in
/// the first of them.
/// </summary>
internal static partial class Brief
{
    // From here on a member of an object has no line of its own: a change of the document is a change of few lines.
    private const int DeepestLine = 4;

    // What two schemas say alike may stand in both.
    private const int Often = 2;

    private static readonly string[] _methods = ["get", "put", "post", "delete", "patch"];

    // What is referred to at nearly every address.
    private static readonly Dictionary<string, string> _short = new()
    {
        ["Idempotency-Key"] = "key",
        ["If-Match"] = "match",
        ["If-None-Match"] = "known",
    };

    /// <summary>The document as UTF-8.</summary>
    public static byte[] Written(JsonObject document)
    {
        ShareParameters(document);
        DropRepeats(document, document["components"]!["schemas"]!.AsObject());
        SayOnce(document["components"]!["schemas"]!.AsObject());
        ShowOneRow(document["paths"]!);
        var text = new StringBuilder();
        Write(document, 0, text);
        return Encoding.UTF8.GetBytes(text.Append('\n').ToString());
    }

    // What a comment in the source says on several lines.
    [GeneratedRegex("\n +")]
    private static partial Regex BrokenLine();

    private static void ShareParameters(JsonObject document)
    {
        var lists = document["paths"]!.AsObject().SelectMany(path => path.Value!.AsObject())
            .Where(operation => _methods.Contains(operation.Key))
            .Select(operation => operation.Value!["parameters"] as JsonArray).OfType<JsonArray>().ToList();
        var shared = new JsonObject();
        foreach (var alike in lists.SelectMany(list => list).Select(one => one!.ToJsonString())
            .GroupBy(one => one).Where(group => group.Count() > 1).Select(group => group.Key))
        {
            var parameter = (string)JsonNode.Parse(alike)!["name"]!;
            var name = _short.GetValueOrDefault(parameter, parameter);
            var free = Enumerable.Range(1, int.MaxValue).Select(n => n == 1 ? name : $"{name}{n}")
                .First(n => !shared.ContainsKey(n));
            shared[free] = JsonNode.Parse(alike);
            foreach (var list in lists)
            {
                for (var i = 0; i < list.Count; i++)
                {
                    if (list[i]!.ToJsonString() == alike)
                    {
                        list[i] = new JsonObject { ["$ref"] = $"#/components/parameters/{free}" };
                    }
                }
            }
        }

        document["components"]!["parameters"] = shared;
    }

    private static void SayOnce(JsonObject schemas)
    {
        var fields = schemas.SelectMany(schema => Properties(schema.Value!.AsObject()))
            .Where(field => field.Value!["description"] is not null)
            .GroupBy(field => (field.Key, Said: (string)field.Value!["description"]!));
        foreach (var field in fields.Where(group => group.Count() > Often).SelectMany(group => group.Skip(1)))
        {
            field.Value!.AsObject().Remove("description");
        }
    }

    private static List<KeyValuePair<string, JsonNode?>> Properties(JsonObject schema) =>
        (schema["allOf"] as JsonArray ?? []).Select(part => part!.AsObject()).Append(schema)
            .Select(part => part["properties"] as JsonObject).OfType<JsonObject>()
            .SelectMany(properties => properties)
            .ToList();

    private static void DropRepeats(JsonNode? node, JsonObject schemas)
    {
        if (node is JsonArray array)
        {
            foreach (var one in array)
            {
                DropRepeats(one, schemas);
            }
        }
        else if (node is JsonObject thing)
        {
            const string schema = "#/components/schemas/";
            if ((thing["description"] as JsonValue)?.GetValueKind() == JsonValueKind.String)
            {
                thing["description"] = BrokenLine().Replace((string)thing["description"]!, " ");
            }

            if (thing["$ref"] is JsonValue reference && thing["description"] is JsonValue description
                && (string?)reference is { } to && to.StartsWith(schema, StringComparison.Ordinal)
                && (string?)schemas[to[schema.Length..]]?["description"] is { } said
                && said.StartsWith((string)description!, StringComparison.Ordinal))
            {
                thing.Remove("description");
            }

            foreach (var (name, one) in thing)
            {
                if (name != "example")
                {
                    DropRepeats(one, schemas);
                }
            }
        }
    }

    // An answer that is shown has one row of each list: the next one would tell nothing more of its form.
    private static void ShowOneRow(JsonNode paths)
    {
        foreach (var form in paths.AsObject().SelectMany(path => path.Value!.AsObject())
            .SelectMany(operation => operation.Value!["responses"]!.AsObject())
            .Select(response => response.Value!["content"] as JsonObject).OfType<JsonObject>()
            .SelectMany(content => content))
        {
            CutLists(form.Value!["example"]);
        }
    }

    private static void CutLists(JsonNode? example)
    {
        if (example is JsonArray { Count: > 0 } rows)
        {
            while (rows.Count > 1 && rows[0] is JsonObject)
            {
                rows.RemoveAt(rows.Count - 1);
            }

            CutLists(rows[0]);
        }
        else if (example is JsonObject thing)
        {
            foreach (var (_, one) in thing)
            {
                CutLists(one);
            }
        }
    }

    private static void Write(JsonNode? node, int depth, StringBuilder text)
    {
        if (node is not JsonObject { Count: > 0 } thing || depth >= DeepestLine)
        {
            text.Append(node?.ToJsonString(ApiJson.Options) ?? "null");
            return;
        }

        var before = "{\n";
        foreach (var (name, one) in thing)
        {
            text.Append(before).Append(JsonSerializer.Serialize(name, ApiJson.Options)).Append(':');
            Write(one, depth + 1, text);
            before = ",\n";
        }

        text.Append("\n}");
    }
}
