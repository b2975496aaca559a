using System.Collections.Frozen;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Api.Books;

/// <summary>A compartment and one of its holdings.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
public sealed record PartAnswer(string Compartment, Holding Holding)
{
    internal static PartAnswer Of(Part part) => new(part.Compartment, part.Holding);
}

/// <summary>So many notes or coins of one value.</summary>
/// <param name="Value">Face value.</param>
/// <param name="Count">How many.</param>
public sealed record PiecesAnswer(decimal Value, int Count)
{
    internal static IReadOnlyList<PiecesAnswer> Of(IEnumerable<Pieces> pieces, Currency currency) =>
        [.. pieces.Select(p => new PiecesAnswer(currency.ToDecimal(p.Value), p.Count))];
}

/// <summary>A change of one place.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Change">In is positive, out negative.</param>
public sealed record ChangeAnswer(string Compartment, Holding Holding, decimal Change);

/// <summary>What a place held when its month was closed.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Wallet">The wallet that the compartment was in.</param>
/// <param name="Closing">Its balance.</param>
public sealed record ClosingAnswer(string Compartment, Holding Holding, string Wallet, decimal Closing);

/// <summary>A line of the book: who, when recorded, when occurred, and what its kind says.</summary>
[JsonConverter(typeof(LineAnswerJson))]
public abstract record LineAnswer
{
    private static readonly FrozenDictionary<Type, Func<IBookEvent, LineTelling, LineAnswer>> _told = Tellers();

    /// <summary>Its number.</summary>
    [JsonPropertyOrder(-10)]
    public long Line { get; init; }

    /// <summary>The entry it was written with: the number of the entry's first line.</summary>
    [JsonPropertyOrder(-9)]
    public long EntryId { get; init; }

    /// <summary>What it says, such as <c>spend</c>.</summary>
    [JsonPropertyOrder(-8)]
    public string Kind { get; init; } = "";

    /// <summary>The instant (UTC) at which it was written.</summary>
    [JsonPropertyOrder(-7)]
    public DateTimeOffset RecordedAt { get; init; }

    /// <summary>Name of the key that wrote it.</summary>
    [JsonPropertyOrder(-6)]
    public string By { get; init; } = "";

    /// <summary>
    /// Its hash, 64 hexadecimal digits, which covers it and every line before it; absent when it was written before
    /// lines had one.
    /// </summary>
    [JsonPropertyOrder(-5)]
    public string? Hash { get; init; }

    /// <summary>The household's date on which it happened.</summary>
    [JsonPropertyOrder(-4)]
    public DateOnly? OccurredOn { get; init; }

    /// <summary>What was written beside it.</summary>
    [JsonPropertyOrder(1)]
    public string? Description { get; init; }

    /// <summary>The reversal that undoes this line.</summary>
    [JsonPropertyOrder(3)]
    public long? ReversedBy { get; init; }

    /// <summary>The line that stands in this one's stead.</summary>
    [JsonPropertyOrder(3)]
    public long? AmendedBy { get; init; }

    /// <summary>
    /// The later line that says that this one was stamped by a clock that was ahead: it was written before that line,
    /// and <c>recordedAt</c> is not to be believed.
    /// </summary>
    [JsonPropertyOrder(3)]
    public long? ClockAhead { get; init; }

    /// <summary>A line of a book in this API's words, with what the book says of it.</summary>
    internal static LineAnswer Of(BookLine line, Book book) =>
        Of(line, book.Household?.Currency) with { ClockAhead = book.SaidAhead(line.Number) };

    /// <summary>A line in this API's words.</summary>
    /// <exception cref="InvalidOperationException">Nothing here tells lines of its kind.</exception>
    internal static LineAnswer Of(BookLine line, Currency? currency)
    {
        var told = _told.GetValueOrDefault(line.Event.GetType())
            ?? throw new InvalidOperationException(
                $"Nothing tells lines of the kind {line.Kind}: give them an ILineOf.");
        var answer = told(line.Event, new LineTelling(line.Number, currency));
        return answer with
        {
            Line = line.Number,
            EntryId = line.EntryId,
            Kind = line.Kind,
            RecordedAt = line.RecordedAt,
            By = line.By,
            Hash = line.Hash,
            OccurredOn = (line.Event as IDatedEvent)?.OccurredOn,
            Description = (line.Event as IDatedEvent)?.Description is { Length: > 0 } words
                ? words
                : answer.Description,
            ReversedBy = line.ReversedBy,
            AmendedBy = line.AmendedBy,
        };
    }

    /// <summary>The types of line there are, by kind.</summary>
    internal static IReadOnlyDictionary<string, Type> Types { get; } = Told()
        .ToFrozenDictionary(t => LineKinds.Names[t.Event], t => t.Line);

    private static IEnumerable<(Type Line, Type Event)> Told() =>
        from type in typeof(LineAnswer).Assembly.GetTypes()
        where !type.IsAbstract && type.IsAssignableTo(typeof(LineAnswer))
        from told in type.GetInterfaces()
        where told.IsGenericType && told.GetGenericTypeDefinition() == typeof(ILineOf<>)
        select (type, told.GetGenericArguments()[0]);

    private static FrozenDictionary<Type, Func<IBookEvent, LineTelling, LineAnswer>> Tellers()
    {
        var teller = typeof(LineAnswer).GetMethod(nameof(Teller), BindingFlags.NonPublic | BindingFlags.Static)!;
        return Told().ToFrozenDictionary(t => t.Event, t => (Func<IBookEvent, LineTelling, LineAnswer>)teller
            .MakeGenericMethod(t.Line, t.Event).Invoke(null, null)!);
    }

    private static Func<IBookEvent, LineTelling, LineAnswer> Teller<TLine, TEvent>()
        where TLine : LineAnswer, ILineOf<TEvent>
        where TEvent : IBookEvent => (line, told) => TLine.Of((TEvent)line, told).SaidOf(line, told);

    /// <summary>With what every line of its sort has.</summary>
    private protected virtual LineAnswer SaidOf(IBookEvent line, LineTelling told) => this;
}

/// <summary>A line that moves money, or stands in the stead of one that did.</summary>
public abstract record MovementLineAnswer : LineAnswer
{
    /// <summary>The earlier line in whose stead this one stands.</summary>
    [JsonPropertyOrder(2)]
    public long? Amends { get; init; }

    /// <summary>
    /// Why it replaces what a reversal has undone. Beside other corrections the reversal says why. Or why the program
    /// leaves a payday.
    /// </summary>
    [JsonPropertyOrder(2)]
    public string? Reason { get; init; }

    /// <summary>For a correction of a line of a closed month: the day that it belongs to.</summary>
    [JsonPropertyOrder(2)]
    public DateOnly? ClosedDay { get; init; }

    /// <summary>The handover from or to whose notes it moves money.</summary>
    [JsonPropertyOrder(2)]
    public long? Handover { get; init; }

    /// <summary>
    /// What it changes in the notes that somebody carries: into their hands is positive, out of them negative.
    /// </summary>
    [JsonPropertyOrder(2)]
    public decimal? Carried { get; init; }

    private protected override LineAnswer SaidOf(IBookEvent line, LineTelling told)
    {
        var movement = (IMovement)line;
        return this with
        {
            Amends = movement is IReplacement { Corrects: { } amended } ? amended.Line : null,
            Reason = movement.Corrects?.Reason,
            ClosedDay = movement.Corrects?.ClosedDay,
            Handover = movement.Carried?.Handover,
            Carried = movement.Carried is { } carried ? told.Say(carried.Change) : null,
        };
    }
}

/// <summary>Tells lines of one kind. It stands beside the address that writes them.</summary>
/// <typeparam name="TEvent">What such a line says in the book.</typeparam>
internal interface ILineOf<in TEvent>
    where TEvent : IBookEvent
{
    /// <summary>The fields that only its kind has.</summary>
    static abstract LineAnswer Of(TEvent e, LineTelling told);
}

/// <summary>What telling a line needs besides the line.</summary>
/// <param name="Line">Its number.</param>
/// <param name="Household">The household's currency; null before it is named, when no line has amounts.</param>
internal readonly record struct LineTelling(long Line, Currency? Household)
{
    /// <summary>The currency that amounts are told in.</summary>
    public Currency Currency => Household!;

    /// <summary>An amount in major units.</summary>
    public decimal Say(Money money) => Currency.ToDecimal(money);
}

/// <summary>A line is written with the fields of its kind.</summary>
internal sealed class LineAnswerJson : JsonConverter<LineAnswer>
{
    public override LineAnswer Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        throw new NotSupportedException("Lines are not sent.");

    public override void Write(Utf8JsonWriter writer, LineAnswer value, JsonSerializerOptions options) =>
        JsonSerializer.Serialize(writer, value, value.GetType(), options);
}
