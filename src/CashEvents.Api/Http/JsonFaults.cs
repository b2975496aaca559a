using System.Buffers;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;

namespace CashEvents.Api.Http;

/// <summary>
/// Says what is wrong with JSON in words a person can act on. What was refused is read again beside the form that was
/// asked for, and the first thing that is not of that form is told.
/// </summary>
internal ref struct JsonFaults
{
    /// <summary>What to do where no JSON was sent.</summary>
    public const string SendJson = "Send the body as JSON, with the header `Content-Type: application/json`.";

    private static readonly SearchValues<char> _inBrackets =
        SearchValues.Create(". '/\"[]()\t\n\r\f\b\\\u0085\u2028\u2029");

    private readonly ReadOnlySpan<byte> _json;
    private Utf8JsonReader _reader;

    // The field that is being read, and what it should be: where the text breaks off, that is what is missing.
    private string _path = "";
    private Type _type;

    private JsonFaults(ReadOnlySpan<byte> json, Type form)
    {
        _json = json;
        _reader = new Utf8JsonReader(json, new JsonReaderOptions { MaxDepth = ApiJson.Options.MaxDepth });
        _type = form;
    }

    /// <summary>The first fault of a body that could not be read.</summary>
    /// <param name="form">The form that was asked for.</param>
    /// <param name="body">What was sent.</param>
    public static MalformedException Explain(Type form, ReadOnlySpan<byte> body)
    {
        if (FirstThatIsNotUtf8(body) is { } at)
        {
            return new MalformedException("$", $"Byte {at + 1} of the body is not UTF-8, in which JSON is written: "
                + "save or send the text as UTF-8. It may be in Latin-1 or UTF-16.");
        }

        ReadOnlySpan<byte> byteOrderMark = [0xEF, 0xBB, 0xBF];
        var faults = new JsonFaults(body.StartsWith(byteOrderMark) ? body[byteOrderMark.Length..] : body, form);
        try
        {
            faults._reader.Read();
            var fault = faults.OfValue("", form);
            if (fault is null)
            {
                faults._reader.Read();
            }

            return fault ?? Wrong("", form);
        }
        catch (JsonException brokenOff)
        {
            return faults.Broken(brokenOff);
        }
    }

    private static int? FirstThatIsNotUtf8(ReadOnlySpan<byte> body)
    {
        for (var at = 0; at < body.Length;)
        {
            if (Rune.DecodeFromUtf8(body[at..], out _, out var length) != OperationStatus.Done)
            {
                return at;
            }

            at += length;
        }

        return null;
    }

    private MalformedException? OfValue(string path, Type type)
    {
        (_path, _type) = (path, type);
        var token = _reader.TokenType;
        if (token == JsonTokenType.Null)
        {
            return type.IsValueType && Nullable.GetUnderlyingType(type) is null ? Wrong(path, type) : null;
        }

        type = Nullable.GetUnderlyingType(type) ?? type;
        var info = ApiJson.Options.GetTypeInfo(ApiJson.Options.GetConverter(type) is not IHasTwoForms forms ? type
            : token == JsonTokenType.StartObject ? forms.AsObject
            : forms.InShort);
        return (info.Kind, token) switch
        {
            (JsonTypeInfoKind.Object, JsonTokenType.StartObject) => OfObject(path, type, info),
            (JsonTypeInfoKind.Dictionary, JsonTokenType.StartObject) => OfObject(path, type, info),
            (JsonTypeInfoKind.Enumerable, JsonTokenType.StartArray) => OfList(path, info.ElementType!),
            (JsonTypeInfoKind.None, not (JsonTokenType.StartObject or JsonTokenType.StartArray)) => OfWord(path, type),
            _ => Wrong(path, type),
        };
    }

    private MalformedException? OfObject(string path, Type asked, JsonTypeInfo info)
    {
        var kinds = info.PolymorphismOptions;
        if (kinds is not null)
        {
            if (KindOf(kinds) is not { } movement)
            {
                return UnknownKind(path, kinds);
            }

            asked = movement;
            info = ApiJson.Options.GetTypeInfo(movement);
            _type = movement;
        }

        var seen = new HashSet<string>(StringComparer.Ordinal);
        while (_reader.Read() && _reader.TokenType != JsonTokenType.EndObject)
        {
            if (Text(_reader) is not { } name)
            {
                return Wrong(path, asked);
            }

            var type = name == kinds?.TypeDiscriminatorPropertyName ? typeof(string)
                : info.ElementType ?? info.Properties.FirstOrDefault(field => field.Name == name)?.PropertyType;
            if (type is null)
            {
                return Unknown(name, path.Length == 0 ? name : $"{path}.{name}", Fields(info.Type));
            }

            if (!seen.Add(name))
            {
                var twice = At(Step(path, name));
                return new MalformedException(twice, $"`{twice}` is written twice: leave one of them out.");
            }

            (_path, _type) = (Step(path, name), type);
            if (info.KeyType is { } key && !IsRead(_reader, key))
            {
                return Wrong(_path, key);
            }

            _reader.Read();
            if (OfValue(_path, type) is { } fault)
            {
                return fault;
            }

            (_path, _type) = (path, asked);
        }

        return null;
    }

    private MalformedException? OfList(string path, Type item)
    {
        for (var n = 0; ; n++)
        {
            (_path, _type) = ($"{path}[{n}]", item);
            _reader.Read();
            if (_reader.TokenType == JsonTokenType.EndArray)
            {
                return null;
            }

            if (OfValue(_path, item) is { } fault)
            {
                return fault;
            }
        }
    }

    private readonly MalformedException? OfWord(string path, Type type)
    {
        try
        {
            return IsRead(_reader, type) ? null : Wrong(path, type);
        }
        catch (UnreadableAmountException amount)
        {
            return new MalformedException(At(path), $"`{At(path)}` {amount.Message}");
        }
    }

    private readonly bool IsRead(Utf8JsonReader word, Type type)
    {
        try
        {
            JsonSerializer.Deserialize(_json[(int)word.TokenStartIndex..WordEnd(word)], type, ApiJson.Options);
            return true;
        }
        catch (JsonException fault) when (fault is not UnreadableAmountException)
        {
            return false;
        }
    }

    // Behind a name its colon is read as well.
    private readonly int WordEnd(Utf8JsonReader word)
    {
        var end = (int)word.BytesConsumed;
        return word.TokenType == JsonTokenType.PropertyName ? _json[..end].LastIndexOf((byte)'"') + 1 : end;
    }

    // It may stand behind the other fields: a copy of the reader looks ahead.
    private readonly Type? KindOf(JsonPolymorphismOptions kinds)
    {
        var ahead = _reader;
        while (ahead.Read() && ahead.TokenType == JsonTokenType.PropertyName)
        {
            var isKind = ahead.ValueTextEquals(kinds.TypeDiscriminatorPropertyName);
            ahead.Read();
            if (isKind)
            {
                var word = ahead.TokenType == JsonTokenType.String ? Text(ahead) : null;
                return kinds.DerivedTypes.FirstOrDefault(kind => Equals(kind.TypeDiscriminator, word)).DerivedType;
            }

            ahead.Skip();
        }

        return null;
    }

    // None where half a character is missing.
    private static string? Text(Utf8JsonReader reader)
    {
        try
        {
            return reader.GetString();
        }
        catch (InvalidOperationException)
        {
            return null;
        }
    }

    private readonly MalformedException Broken(JsonException brokenOff)
    {
        var place = $"line {brokenOff.LineNumber + 1}, byte {brokenOff.BytePositionInLine + 1}: check commas, quotes "
            + "and brackets there.";
        return new MalformedException(At(_path), _path.Length == 0
            ? $"The body is no complete JSON, at {place}"
            : $"`{_path}` must be {Expected(_type)}. The JSON breaks off or goes wrong at {place}");
    }

    private static MalformedException Wrong(string path, Type type) =>
        new(At(path), $"`{At(path)}` must be {Expected(type)}.");

    private static MalformedException UnknownKind(string path, JsonPolymorphismOptions kinds) =>
        new(Step(path, kinds.TypeDiscriminatorPropertyName), "`kind` says which movement it is: one of "
            + $"{string.Join(", ", kinds.DerivedTypes.Select(kind => kind.TypeDiscriminator))}.");

    private static MalformedException Unknown(string name, string path, List<string> fields) =>
        new(path, NearNames.Of(name, fields) is [var near, ..]
            ? $"There is no field `{name}` here. Did you mean `{near}`?"
            : $"There is no field `{name}` here. The fields are {string.Join(", ", fields)}.");

    private static string At(string path) => path.Length == 0 ? "$" : path;

    // A name with a point or a space in it, such as 0.50, stands in brackets.
    private static string Step(string path, string name) =>
        name.AsSpan().ContainsAny(_inBrackets) ? $"{path}['{name}']"
        : path.Length == 0 ? name
        : $"{path}.{name}";

    private static List<string> Fields(Type type) =>
        ApiJson.Options.GetTypeInfo(type) is { Kind: JsonTypeInfoKind.Object } info
            ? [.. info.Properties.Select(p => p.Name)]
            : [];

    private static string Expected(Type asked) => (Nullable.GetUnderlyingType(asked) ?? asked) switch
    {
        var type when ApiJson.Options.GetConverter(type) is IHasTwoForms forms => forms.Expected,
        { IsEnum: true } type => $"one of {string.Join(", ", Spelling.All(type).Select(w => $"\"{w}\""))}",
        var type when type == typeof(decimal) =>
            "a number such as 12.50, with a point before the decimals and no other mark",
        var type when type == typeof(long) || type == typeof(int) => "a whole number",
        var type when type == typeof(DateOnly) => "a date such as \"2026-11-03\"",
        var type when type == typeof(bool) => "true or false",
        var type when type == typeof(string) => "text in quotes",
        var type when Fields(type) is { Count: > 0 } fields => $"a JSON object with {string.Join(", ", fields)}",
        var type when typeof(System.Collections.IDictionary).IsAssignableFrom(type) => "a JSON object",
        _ => "of the form that the OpenAPI document shows",
    };
}

/// <summary>Reads what may be written in a short form or as an object.</summary>
internal interface IHasTwoForms
{
    /// <summary>The object's type.</summary>
    Type AsObject { get; }

    /// <summary>The type of the short form.</summary>
    Type InShort { get; }

    /// <summary>Both forms, for a sentence.</summary>
    string Expected { get; }
}
