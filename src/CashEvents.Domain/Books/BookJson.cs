using System.Collections.Immutable;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;

namespace CashEvents.Domain.Books;

/// <summary>
/// How lines and the book's page are written as JSON: camelCase, words for enumerations, money as a whole number of
/// minor units, nothing that can be computed.
/// </summary>
public static class BookJson
{
    /// <summary>The options, shared by Marten and by direct reads.</summary>
    public static JsonSerializerOptions Options { get; } =
        Make(new OnePage([.. Section.All.Where(section => !section.GrowsWithTheBook)]));

    /// <summary>The same for a copy of a book, which has all that the book keeps.</summary>
    public static JsonSerializerOptions OfCopies { get; } = Make(new OnePage([.. Section.All]));

    /// <summary>
    /// The same for a copy that this build has read before: what a section keeps is read once somebody asks for it.
    /// </summary>
    public static JsonSerializerOptions OfCopiesReadBefore { get; } =
        Make(new OnePage([.. Section.All]) { ReadsWhenAsked = true });

    private static JsonSerializerOptions Make(OnePage page)
    {
        var options = new JsonSerializerOptions(JsonSerializerDefaults.Web)
        {
            DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
            TypeInfoResolver = new DefaultJsonTypeInfoResolver { Modifiers = { KeepWhatCannotBeComputed } },
        };
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.CamelCase));
        options.Converters.Add(new MinorUnits());
        options.Converters.Add(new MonthWord());
        options.Converters.Add(new PlaceWord());
        options.Converters.Add(page);
        options.Converters.Add(new LineOfAKind());
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
            if (type.Properties[i].AttributeProvider is PropertyInfo { CanWrite: false })
            {
                type.Properties.RemoveAt(i);
            }
        }
    }

    private sealed class MinorUnits : JsonConverter<Money>
    {
        public override Money Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            new(reader.GetInt64());

        public override void Write(Utf8JsonWriter writer, Money value, JsonSerializerOptions options) =>
            writer.WriteNumberValue(value.Minor);
    }

    private sealed class MonthWord : JsonConverter<Month>
    {
        public override Month Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            Month.Read(reader.GetString()!) ?? throw new JsonException("A month is written like 2026-11.");

        public override void Write(Utf8JsonWriter writer, Month value, JsonSerializerOptions options) =>
            writer.WriteStringValue(value.ToString());
    }

    // An object where it is a value; where a section keeps something for each place, a word.
    private sealed class PlaceWord : JsonConverter<Part>
    {
        public override Part Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            JsonSerializer.Deserialize<AsObject>(ref reader, options) is var place
                ? new Part(place.Compartment, place.Holding)
                : default;

        public override void Write(Utf8JsonWriter writer, Part value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, new AsObject(value.Compartment, value.Holding), options);

        public override Part ReadAsPropertyName(ref Utf8JsonReader reader, Type typeToConvert,
            JsonSerializerOptions options)
        {
            var word = reader.GetString()!;
            var slash = word.IndexOf('/', StringComparison.Ordinal);
            return new Part(word[(slash + 1)..], Enum.Parse<Holding>(word[..slash], ignoreCase: true));
        }

        public override void WriteAsPropertyName(Utf8JsonWriter writer, Part value, JsonSerializerOptions options) =>
            writer.WritePropertyName($"{(value.Holding == Holding.Cash ? "cash" : "bank")}/{value.Compartment}");

        private readonly record struct AsObject(string Compartment, Holding Holding);
    }

    // What it says can be read once its kind is known.
    private sealed class LineOfAKind : JsonConverter<BookLine>
    {
        public override BookLine Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            var line = JsonSerializer.Deserialize<Written>(ref reader, options)!;
            return new BookLine(line.Number, line.EntryId, line.RecordedAt, line.By,
                (IBookEvent)line.Event.Deserialize(LineKinds.Types[line.Kind], options)!);
        }

        public override void Write(Utf8JsonWriter writer, BookLine value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, new Written(value.Number, value.EntryId, value.RecordedAt, value.By,
                value.Kind, JsonSerializer.SerializeToElement(value.Event, value.Event.GetType(), options)), options);

        private sealed record Written(long Number, long EntryId, DateTimeOffset RecordedAt, string By, string Kind,
            JsonElement Event);
    }

    // The page must not grow with the book: what does has tables of its own, and the book that is read from the page
    // can't be asked for it.
    private sealed class OnePage(Section[] onPage) : JsonConverter<Book>
    {
        private readonly ImmutableHashSet<Section> _inTables = [.. Section.All.Except(onPage)];

        public bool ReadsWhenAsked { get; init; }

        public override Book Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            var page = JsonSerializer.Deserialize<Page>(ref reader, options)!;
            return new Book
            {
                Line = page.Line,
                Household = page.Household,
                Wallets = page.Wallets,
                Compartments = page.Compartments,
                ClosedMonths = page.ClosedMonths,
                HasAmounts = page.HasAmounts,
                Sections = onPage.Where(section => page.Sections.ContainsKey(section.Name))
                    .ToImmutableDictionary(section => section,
                        section => Kept(page.Sections[section.Name], section.Kept, options)),
                NotLoaded = _inTables,
            };
        }

        public override void Write(Utf8JsonWriter writer, Book value, JsonSerializerOptions options)
        {
            writer.WriteStartObject();
            foreach (var (name, kept) in new (string, object?)[]
            {
                ("line", value.Line), ("household", value.Household), ("wallets", value.Wallets),
                ("compartments", value.Compartments),
                ("closedMonths", value.ClosedMonths), ("hasAmounts", value.HasAmounts),
            })
            {
                Write(name, kept, kept?.GetType() ?? typeof(object));
            }

            writer.WriteStartObject("sections");
            foreach (var section in onPage.Where(value.Sections.ContainsKey))
            {
                Write(section.Name, Unread.Read(value.Sections[section]), section.Kept);
            }

            writer.WriteEndObject();
            writer.WriteEndObject();

            void Write(string name, object? kept, Type type)
            {
                writer.WritePropertyName(name);
                JsonSerializer.Serialize(writer, kept, type, options);
            }
        }

        private object? Kept(JsonElement written, Type type, JsonSerializerOptions options) =>
            ReadsWhenAsked ? new Unread(() => written.Deserialize(type, options)) : written.Deserialize(type, options);

        private sealed record Page(
            long Line, Household? Household, ImmutableDictionary<string, Wallet> Wallets,
            ImmutableDictionary<string, Compartment> Compartments,
            ClosedMonths? ClosedMonths, bool HasAmounts, Dictionary<string, JsonElement> Sections);
    }
}
