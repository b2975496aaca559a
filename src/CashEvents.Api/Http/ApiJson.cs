using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;

namespace CashEvents.Api.Http;

/// <summary>
/// How requests and answers are written: camelCase, words for enumerations, amounts as exact decimals. A field that is
/// misspelt or written twice is an error, never ignored.
/// </summary>
internal static class ApiJson
{
    public static JsonSerializerOptions Options { get; } = Apply(new JsonSerializerOptions());

    public static JsonSerializerOptions Apply(JsonSerializerOptions options)
    {
        options.PropertyNamingPolicy = JsonNamingPolicy.CamelCase;
        options.DictionaryKeyPolicy = null;
        options.PropertyNameCaseInsensitive = false;
        options.NumberHandling = JsonNumberHandling.Strict;
        options.UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow;
        options.AllowDuplicateProperties = false;
        options.AllowOutOfOrderMetadataProperties = true;
        options.DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull;
        options.MaxDepth = 32;
        options.Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping;
        options.TypeInfoResolver = new DefaultJsonTypeInfoResolver { Modifiers = { Kinds.TellApart } };
        options.Converters.Add(new EnumWords());
        options.Converters.Add(new AmountJson());
        return options;
    }
}
