using System.Text.Json;

namespace CashEvents.Client;

/// <summary>The server did not carry a request out, and said why (RFC 9457).</summary>
public sealed class CashEventsProblemException : Exception
{
    private const string NotSaid = "";

    internal CashEventsProblemException(int status, string? reason, string body)
        : base(Read(body) is { } said && Text(said, "detail") is { Length: > 0 } detail ? detail
            : $"The server answered {status} {reason}".TrimEnd() + ".")
    {
        var problem = Read(body) ?? default;
        (Status, Body) = (status, body);
        Code = Text(problem, "code");
        Title = Text(problem, "title") is { Length: > 0 } title ? title : reason ?? NotSaid;
        Detail = Message;
        Type = Text(problem, "type");
        Errors = Member(problem, "errors") is { ValueKind: JsonValueKind.Object } errors
            ? errors.EnumerateObject().ToDictionary(field => field.Name, field => Texts(field.Value))
            : new Dictionary<string, IReadOnlyList<string>>();
        Suggestions = Member(problem, "suggestions") is { } suggestions ? Texts(suggestions) : [];
    }

    /// <summary>The HTTP status.</summary>
    public int Status { get; }

    /// <summary>What is the matter, for programs; stable. Empty when what answered is not the book's server.</summary>
    public string Code { get; }

    /// <summary>Its kind in words.</summary>
    public string Title { get; }

    /// <summary>What is the matter and the mend, for people.</summary>
    public string Detail { get; }

    /// <summary>An address on the server that says what the code means.</summary>
    public string Type { get; }

    /// <summary>The fields at fault by their JSON path, each with the mend.</summary>
    public IReadOnlyDictionary<string, IReadOnlyList<string>> Errors { get; }

    /// <summary>Names near the one sent, nearest first.</summary>
    public IReadOnlyList<string> Suggestions { get; }

    /// <summary>The answer's body, which may tell more: what is there, what is to be done first.</summary>
    public string Body { get; }

    private static JsonElement? Read(string body)
    {
        try
        {
            return JsonElement.Parse(body) is { ValueKind: JsonValueKind.Object } problem ? problem : null;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private static JsonElement? Member(JsonElement of, string name) =>
        of.ValueKind == JsonValueKind.Object && of.TryGetProperty(name, out var member) ? member : null;

    private static string Text(JsonElement of, string name) =>
        Member(of, name) is { ValueKind: JsonValueKind.String } text ? text.GetString()! : NotSaid;

    private static IReadOnlyList<string> Texts(JsonElement list) => list.ValueKind == JsonValueKind.Array
        ? [.. list.EnumerateArray().Select(text => text.ToString())]
        : [];
}
