using System.Globalization;
using System.Text.Json;

namespace CashEvents.Api.Counts;

/// <summary>By how much the count of a place is over because of a mistake.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Which of its holdings.</param>
/// <param name="Difference">Over positive, short negative.</param>
public sealed record EffectAnswer(string Compartment, Holding Holding, decimal Difference);

/// <summary>A line that may be the movement that is not recorded.</summary>
/// <param name="Line">Its number.</param>
/// <param name="Says">What was done wrong then.</param>
/// <param name="Request">What puts that line right.</param>
public sealed record MayBeAnswer(long Line, string Says, ReadyRequestAnswer Request)
{
    internal static MayBeAnswer Of(Mistake mistake, Book book) =>
        new(mistake.Lines[0], mistake.Say(book),
            ReadyRequestAnswer.Of(new Explanation([mistake], [], 0m).Mend(book).Single()));
}

/// <summary>A mistake that may have been made.</summary>
/// <param name="Kind">Which kind.</param>
/// <param name="Says">What happened, in words.</param>
/// <param name="Test">The test of bookkeeping that points to it.</param>
/// <param name="Lines">The lines it rests on; none for a movement that is not in the book.</param>
/// <param name="Effects">What it does to the counts.</param>
public sealed record MistakeAnswer(MistakeKind Kind, string Says, string Test, IReadOnlyList<long> Lines,
    IReadOnlyList<EffectAnswer> Effects)
{
    /// <summary>Lines that may be the movement itself: look at them before it is written a second time.</summary>
    public IReadOnlyList<MayBeAnswer>? MayBe { get; init; }

    internal static MistakeAnswer Of(Mistake mistake, Book book) => new(
        mistake.Kind, mistake.Say(book), Tests(mistake.Kind), mistake.Lines,
        [.. mistake.Effects.Select(
            e => new EffectAnswer(e.Place.Compartment, e.Place.Holding, book.Currency.ToDecimal(e.Amount)))])
    {
        MayBe = mistake is NotRecorded { MayBe: { IsEmpty: false } there }
            ? [.. there.Select(m => MayBeAnswer.Of(m, book))]
            : null,
    };

    private static string Tests(MistakeKind kind) => kind switch
    {
        MistakeKind.NotRecorded => "The difference itself: look for an item that was left out.",
        MistakeKind.RecordedTwice => "The difference itself: look for an item that was carried twice.",
        MistakeKind.WrongDirection => "Half the difference: look for an item that was carried to the wrong side.",
        MistakeKind.WrongCompartment =>
            "The difference itself, or one count over by what another is short: look for an item that was carried to "
                + "the wrong place.",
        MistakeKind.WrongHolding => "The difference itself: look for an item that was paid by bank, or in cash.",
        MistakeKind.WrongDay => "The difference itself: look for an item that was dated across the count.",
        MistakeKind.Rounded => "Less than one whole unit: look for an amount that was rounded.",
        MistakeKind.WrongFigure => "A single figure: look for an amount with one figure mistyped.",
        MistakeKind.PiecesMiscounted => "A single note or coin: look through what was counted.",
        MistakeKind.Transposed => "The difference divides by nine: look for two figures that changed places.",
        MistakeKind.Slid => "The difference divides by nine: look for a point that slid.",
        MistakeKind.WrongDenomination =>
            "The difference is that of two neighbouring notes or coins: look through what was counted.",
        MistakeKind.WrongChange =>
            "The difference is a note or coin, or that of two neighbouring ones: think of the change.",
        _ => "Some items add up to the difference: look whether they belong there.",
    };
}

/// <summary>A request that can be sent as it is.</summary>
/// <param name="Method">The HTTP method.</param>
/// <param name="Path">The address.</param>
/// <param name="Body">What to send, as JSON.</param>
public sealed record ReadyRequestAnswer(string Method, string Path, JsonElement Body)
{
    /// <summary>The request that asks for what a command does.</summary>
    internal static ReadyRequestAnswer Of(ICommand command) => command switch
    {
        ReverseLine c => Post($"/api/lines/{Text(c.Line)}/reversal", new ReversalRequest(c.Reason)),
        AmendLine c => Post($"/api/lines/{Text(c.Line)}/amendment",
            new AmendmentRequest(c.Reason, Movement(c.Replacement))),
        RecordCount c => Post("/api/counts", Movement(c)),
        RecordFill c => Post("/api/fills", Movement(c)),
        RecordSpend c => Post("/api/spends", Movement(c)),
        RecordRefund c => Post("/api/refunds", Movement(c)),
        RecordTransfer c => Post("/api/transfers", Movement(c)),
        _ => throw new ArgumentException($"No explanation asks for a {command.GetType().Name}.", nameof(command)),
    };

    private static MovementRequest Movement(ICommand command) => command switch
    {
        RecordFill c => new FillRequest
        {
            Compartment = c.Compartment,
            Holding = c.Holding,
            Amount = c.Amount,
            OccurredOn = c.OccurredOn,
            Description = Words(c.Description)
        },
        RecordSpend c => new SpendRequest
        {
            Compartment = c.Compartment,
            Holding = c.Holding,
            Amount = c.Amount,
            OccurredOn = c.OccurredOn,
            Description = Words(c.Description),
            Goal = c.Goal,
            Carried = c.Hands.Carried
        },
        RecordRefund c => new RefundRequest
        {
            Compartment = c.Compartment,
            Holding = c.Holding,
            Amount = c.Amount,
            OccurredOn = c.OccurredOn,
            Description = Words(c.Description),
            Carried = c.Hands.Carried
        },
        RecordTransfer c => new TransferRequest
        {
            From = Place(c.From),
            To = Place(c.To),
            Amount = c.Amount,
            OccurredOn = c.OccurredOn,
            Description = Words(c.Description),
            Carried = c.Hands.Carried
        },
        RecordCount c => new CountRequest
        {
            Compartment = c.Compartment,
            Holding = c.Holding,
            Total = c.Total,
            Denominations = c.Denominations,
            OccurredOn = c.OccurredOn,
            Witness = Words(c.Witness),
            Description = Words(c.Description),
            Carried = c.Hands.Carried,
        },
        _ => throw new ArgumentException($"No explanation asks for a {command.GetType().Name}.", nameof(command)),
    };

    private static PartRef Place(Part part) => new(part.Compartment, part.Holding);

    private static string? Words(string? written) => string.IsNullOrEmpty(written) ? null : written;

    private static string Text(long number) => number.ToString(CultureInfo.InvariantCulture);

    private static ReadyRequestAnswer Post(string path, object body) =>
        new("POST", path, JsonSerializer.SerializeToElement(body, body.GetType(), ApiJson.Options));
}

/// <summary>What would make a count agree.</summary>
/// <param name="Explanation">Its code, by which a count is settled; good as long as the book stays as it is.</param>
/// <param name="Likelihood">The chance, from 0 to 1, that it was this.</param>
/// <param name="Counts">The counts that agree then.</param>
/// <param name="Mistakes">What happened; nearly always one thing.</param>
/// <param name="Requests">What puts it right, in this order.</param>
public sealed record ExplanationAnswer(
    string Explanation, decimal Likelihood, IReadOnlyList<long> Counts, IReadOnlyList<MistakeAnswer> Mistakes,
    IReadOnlyList<ReadyRequestAnswer> Requests)
{
    /// <summary>What points to it.</summary>
    public required string Why { get; init; }

    /// <summary>What to look at to be sure.</summary>
    public required string Look { get; init; }

    internal static ExplanationAnswer Of(Explanation explanation, Book book) => new(
        explanation.Code, explanation.Likelihood, explanation.Counts,
        [.. explanation.Mistakes.Select(m => MistakeAnswer.Of(m, book))],
        [.. explanation.Mend(book).Select(ReadyRequestAnswer.Of)])
    {
        Why = explanation.Why,
        Look = explanation.Look,
    };
}

/// <summary>The count that would decide best.</summary>
/// <param name="Compartment">The compartment's id; that of the count itself for one more of the same.</param>
/// <param name="Holding">Which of its holdings.</param>
/// <param name="Says">What it would tell.</param>
public sealed record NextCountAnswer(string Compartment, Holding Holding, string Says);

/// <summary>A count, and what would make it agree.</summary>
/// <param name="CountId">The count.</param>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Which of its holdings.</param>
/// <param name="OccurredOn">The day of the count.</param>
/// <param name="Expected">What should have been found, by what is known now.</param>
/// <param name="Counted">What was found.</param>
/// <param name="Difference">Counted minus expected: over when positive, short when negative.</param>
/// <param name="LinesLookedAt">Among how many lines it was looked for.</param>
/// <param name="Explanations">Likeliest first. Each was rehearsed: the count agrees then, and no other that agrees
/// disagrees.</param>
/// <param name="SomethingElse">The likelihood, from 0 to 1, of what is not listed.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record ExplanationsAnswer(
    long CountId, string Compartment, Holding Holding, DateOnly OccurredOn, decimal Expected, decimal Counted,
    decimal Difference,
    int LinesLookedAt, IReadOnlyList<ExplanationAnswer> Explanations, decimal SomethingElse, long BookLine)
{
    /// <summary>The day of the count before it that agreed.</summary>
    public DateOnly? Since { get; init; }

    /// <summary>
    /// The fewest mistakes that make all counts of that day agree, when more than one of them disagrees.
    /// </summary>
    public ExplanationAnswer? Together { get; init; }

    /// <summary>The count that would decide best between what is listed.</summary>
    public NextCountAnswer? NextCount { get; init; }

    /// <summary>Why nothing is listed, or that it is probably none of these.</summary>
    public string? Note { get; init; }

    internal static ExplanationsAnswer Of(ExplainedCount explained, Book book)
    {
        decimal Say(Money money) => book.Currency.ToDecimal(money);
        var (part, count) = (explained.Place, explained.Count);
        return new ExplanationsAnswer(
            count.Line, part.Compartment, part.Holding, count.OccurredOn, Say(count.Expected), Say(count.Counted),
            Say(count.Difference),
            explained.LinesLookedAt, [.. explained.Explanations.Select(e => ExplanationAnswer.Of(e, book))],
            explained.SomethingElse, book.Line)
        {
            Since = explained.Since,
            Together = explained.Together is { } together ? ExplanationAnswer.Of(together, book) : null,
            NextCount = explained.Next is { } next
                ? new NextCountAnswer(next.Place.Compartment, next.Place.Holding, next.Says)
                : null,
            Note = count.Difference == Money.Zero ? "The count agrees: there is nothing to explain."
                : explained.SomethingElse > 0.5m
                    ? "Probably it is none of these: lost or found, or three mistakes and more, which are beyond what "
                        + "is looked for. Count again before you settle it."
                : null,
        };
    }
}
