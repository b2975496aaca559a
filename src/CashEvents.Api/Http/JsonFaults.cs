using System.Reflection;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using System.Text.RegularExpressions;

namespace CashEvents.Api.Http;

/// <summary>Says what is wrong with JSON in words a person can act on.</summary>
internal static partial class JsonFaults
{
    public const string SendJson = "Send the body as JSON, with the header `Content-Type: application/json`.";

    public static MalformedException Explain(Type form, JsonException fault)
    {
        var (path, cause) = Innermost(fault);
        var at = path.Length == 0 ? "$" : path;
        if (Unmapped().Match(cause.Message) is { Success: true } unmapped)
        {
            return Unknown(unmapped.Groups[1].Value, path,
                typeof(JsonFaults).Assembly.GetType(unmapped.Groups[2].Value) ?? form);
        }

        if (Twice().Match(cause.Message) is { Success: true } twice)
        {
            return new MalformedException(twice.Groups[1].Value,
                $"`{twice.Groups[1].Value}` is written twice: leave one of them out.");
        }

        if (cause.Message.StartsWith("Duplicate properties", StringComparison.Ordinal))
        {
            return new MalformedException(at, $"`{at}` is written twice: leave one of them out.");
        }

        if (cause is UnreadableAmountException)
        {
            return new MalformedException(at, $"`{at}` {cause.Message}");
        }

        var target = TypeAt(form, path);
        if (cause.Message.Contains("discriminator", StringComparison.Ordinal))
        {
            return Kind(path, target ?? form);
        }

        // The reader's own exception is inside where the text itself is at fault, not what it says.
        var place = cause.InnerException is JsonException
            ? $"line {cause.LineNumber + 1}, byte {cause.BytePositionInLine + 1}: check commas, quotes and brackets "
                + $"there."
            : null;
        return new MalformedException(at, (place, path.Length) switch
        {
            (null, _) => $"`{at}` must be {Expected(target)}.",
            (_, 0) => $"The body is no complete JSON, at {place}",
            _ => $"`{at}` must be {Expected(target)}. The JSON breaks off or goes wrong at {place}",
        });
    }

    public static MalformedException ExplainMissingKind(Type form, NotSupportedException fault)
    {
        var path = At().Match(fault.Message).Groups[1].Value.TrimStart('.');
        return Kind(path, TypeAt(form, path) ?? form);
    }

    private static MalformedException Kind(string path, Type movement) =>
        new(path.Length == 0 ? "kind" : $"{path}.kind",
            $"`kind` says which movement it is: one of {string.Join(", ", Kinds(movement))}.");

    // What has two forms reads its object by itself, and faults in there have a path that starts anew.
    private static (string Path, JsonException Cause) Innermost(JsonException fault)
    {
        var path = Steps(fault);
        var cause = fault;
        while (cause.InnerException is JsonException { Path: not null } inner)
        {
            cause = inner;
            path += Steps(inner) is { Length: > 0 } further && further[0] != '[' && path.Length > 0
                ? "." + further
                : Steps(inner);
        }

        return (path, cause);
    }

    private static string Steps(JsonException fault) => (fault.Path ?? "$").TrimStart('$').TrimStart('.');

    private static MalformedException Unknown(string name, string path, Type parent)
    {
        var fields = Fields(parent);
        var near = NearNames.Of(name, fields);
        var full = path.EndsWith(name, StringComparison.Ordinal) ? path : path.Length == 0 ? name : $"{path}.{name}";
        return new MalformedException(full, near.Count > 0
            ? $"There is no field `{name}` here. Did you mean `{near[0]}`?"
            : $"There is no field `{name}` here. The fields are {string.Join(", ", fields)}.");
    }

    private static List<string> Fields(Type type) =>
        ApiJson.Options.GetTypeInfo(type) is { Kind: JsonTypeInfoKind.Object } info
            ? [.. info.Properties.Select(p => p.Name)]
            : [];

    private static IEnumerable<string> Kinds(Type type) =>
        Http.Kinds.Of(type).Select(kind => kind.Name);

    private static Type? TypeAt(Type form, string path)
    {
        Type? type = form;
        foreach (var step in path.Split('.', '[').Where(s => s.Length > 0))
        {
            if (type is null)
            {
                return null;
            }

            type = ApiJson.Options.GetConverter(type) is IHasTwoForms forms ? forms.AsObject : type;
            type = ApiJson.Options.GetTypeInfo(type) switch
            {
                { Kind: JsonTypeInfoKind.Object } info =>
                    info.Properties.FirstOrDefault(p => p.Name == step)?.PropertyType,
                { Kind: JsonTypeInfoKind.Enumerable or JsonTypeInfoKind.Dictionary } info => info.ElementType,
                _ => null,
            };
        }

        return type is null ? null : Nullable.GetUnderlyingType(type) ?? type;
    }

    private static string Expected(Type? type) => type switch
    {
        null => "of the form that the OpenAPI document shows",
        _ when ApiJson.Options.GetConverter(type) is IHasTwoForms forms => forms.Expected,
        { IsEnum: true } => $"one of {string.Join(", ", Spelling.All(type).Select(w => $"\"{w}\""))}",
        _ when type == typeof(decimal) => "a number such as 12.50, with a point before the decimals and no other mark",
        _ when type == typeof(long) || type == typeof(int) => "a whole number",
        _ when type == typeof(DateOnly) => "a date such as \"2026-11-03\"",
        _ when type == typeof(bool) => "true or false",
        _ when type == typeof(string) => "text in quotes",
        _ when typeof(System.Collections.IDictionary).IsAssignableFrom(type) || Fields(type).Count > 0 =>
            "a JSON object" + (Fields(type) is { Count: > 0 } fields ? $" with {string.Join(", ", fields)}" : ""),
        _ => "of the form that the OpenAPI document shows",
    };

    [GeneratedRegex("^The JSON property '(.*?)' could not be mapped .* type '(.+?)'")]
    private static partial Regex Unmapped();

    [GeneratedRegex("^Duplicate property '(.+?)'")]
    private static partial Regex Twice();

    [GeneratedRegex(@"Path: \$(\S*)")]
    private static partial Regex At();
}

/// <summary>Reads what may be written in a short form or as an object.</summary>
internal interface IHasTwoForms
{
    /// <summary>The object's type.</summary>
    Type AsObject { get; }

    /// <summary>Both forms, for a sentence.</summary>
    string Expected { get; }

    /// <summary>Reads the object so that a fault keeps its path within it.</summary>
    static T ReadObject<T>(ref Utf8JsonReader reader, JsonSerializerOptions options)
    {
        try
        {
            return JsonSerializer.Deserialize<T>(ref reader, options)!;
        }
        catch (JsonException fault)
        {
            throw new JsonException(fault.Message, fault);
        }
    }
}
