using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Api.Http;

/// <summary>
/// Reads and writes enumerations as their camelCase words, exactly: the framework's own converter takes a list such as
/// <c>"cash,bank"</c> too and makes one value of it.
/// </summary>
internal sealed class EnumWords : JsonConverterFactory
{
    public override bool CanConvert(Type typeToConvert) => typeToConvert.IsEnum;

    public override JsonConverter CreateConverter(Type typeToConvert, JsonSerializerOptions options) =>
        (JsonConverter)Activator.CreateInstance(typeof(Of<>).MakeGenericType(typeToConvert))!;

    private sealed class Of<T> : JsonConverter<T> where T : struct, Enum
    {
        private readonly Dictionary<string, T> _values =
            Enum.GetValues<T>().ToDictionary(Spelling.Of, StringComparer.Ordinal);

        public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            reader.TokenType == JsonTokenType.String && _values.TryGetValue(reader.GetString()!, out var value)
                ? value
                : throw new JsonException();

        public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) =>
            writer.WriteStringValue(Spelling.Of(value));
    }
}
