using System.Reflection;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;

namespace CashEvents.Store.Books;

/// <summary>How lines and the book's page are written as JSON: camelCase, words for enumerations, money as a whole number of minor units, nothing that can be computed.</summary>
public static class BookJson
{
    /// <summary>The options, shared by Marten and by direct reads.</summary>
    public static JsonSerializerOptions Options { get; } = Make();

    private static JsonSerializerOptions Make()
    {
        var options = new JsonSerializerOptions(JsonSerializerDefaults.Web)
        {
            DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
            TypeInfoResolver = new DefaultJsonTypeInfoResolver { Modifiers = { KeepWhatCannotBeComputed } },
        };
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.CamelCase));
        options.Converters.Add(new MinorUnits());
        options.Converters.Add(new MonthWord());
        options.MakeReadOnly();
        return options;
    }

    private static void KeepWhatCannotBeComputed(JsonTypeInfo type)
    {
        if (type.Type.Assembly != typeof(Book).Assembly)
        {
            return;
        }

        for (var i = type.Properties.Count - 1; i >= 0; i--)
        {
            var member = type.Properties[i].AttributeProvider as PropertyInfo;
            // What grows with the book has tables of its own: the page must not grow.
            if (member is { CanWrite: false } || (type.Type == typeof(Book) && member?.Name is nameof(Book.Days) or nameof(Book.CameIn) or nameof(Book.Plan) or nameof(Book.Corrections) or nameof(Book.LateCorrections) or nameof(Book.FillRuns)))
            {
                type.Properties.RemoveAt(i);
            }
        }
    }

    private sealed class MinorUnits : JsonConverter<Money>
    {
        public override Money Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => new(reader.GetInt64());

        public override void Write(Utf8JsonWriter writer, Money value, JsonSerializerOptions options) => writer.WriteNumberValue(value.Minor);
    }

    private sealed class MonthWord : JsonConverter<Month>
    {
        public override Month Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            Month.Read(reader.GetString()!) ?? throw new JsonException("A month is written like 2026-11.");

        public override void Write(Utf8JsonWriter writer, Month value, JsonSerializerOptions options) => writer.WriteStringValue(value.ToString());
    }
}
