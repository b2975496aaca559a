using FluentValidation;

namespace CashEvents.Api.Counts;

/// <summary>The notes and coins found in a compartment. Moves no money.</summary>
[Kind("count")]
public sealed record CountRequest : MovementRequest
{
    /// <summary>The compartment's id.</summary>
    public string? Compartment { get; init; }

    /// <summary>Cash, or the bank part read off a statement; cash if left out.</summary>
    public Holding? Holding { get; init; }

    /// <summary>What was found; or else the denominations.</summary>
    public decimal? Total { get; init; }

    /// <summary>How many of each note and coin, as <c>{"20": 3, "0.50": 5}</c>.</summary>
    public IReadOnlyDictionary<string, long>? Denominations { get; init; }

    /// <summary>Who else was there.</summary>
    public string? Witness { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    /// <summary>
    /// Whether what somebody carries of it was counted too. Needed only while they do, and if left out, yes when the
    /// sender's key is the carrier's own.
    /// </summary>
    public bool? Carried { get; init; }

    internal override MovementKind Kind => MovementKind.Count;

    internal override ICommand ToCommand() =>
        new RecordCount(Compartment!, Holding ?? Domain.Books.Holding.Cash, Total, Denominations, OccurredOn, Witness,
            Description)
        { Hands = new Hands(Carried: Carried) };
}

/// <summary>Settles a count: posts its over or short with a reason, or puts right what explains it.</summary>
/// <param name="Reason">Why it is accepted, at most 200 characters; needed unless <c>explanation</c> is sent.</param>
/// <param name="OccurredOn">The day of the over or short, not before the count; today if left out.</param>
/// <param name="Explanation">The code of one of the count's explanations.</param>
public sealed record SettlementRequest(string? Reason, DateOnly? OccurredOn, string? Explanation = null);

/// <summary>In a batch: posts the over or short of a count.</summary>
[Kind("settlement")]
public sealed record SettlementInBatchRequest : MovementRequest
{
    /// <summary>The count's id.</summary>
    public long? Count { get; init; }

    /// <summary>Why it is accepted, at most 200 characters.</summary>
    public string? Reason { get; init; }

    internal override MovementKind Kind => MovementKind.Settlement;

    internal override ICommand ToCommand() => new SettleCount(Count!.Value, Reason!, OccurredOn);
}

internal sealed class CountRequestValidator : AbstractValidator<CountRequest>
{
    public CountRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Total).Must((r, total) => total is null != r.Denominations is null)
            .WithMessage("Send either `total`, or `denominations` such as {\"20\": 3, \"0.50\": 5}.");
        RuleFor(r => r.Total).GreaterThanOrEqualTo(0m).WithMessage("`total` is what was found: zero or more.");
    }
}

internal sealed class SettlementRequestValidator : AbstractValidator<SettlementRequest>
{
    public SettlementRequestValidator()
    {
        RuleFor(r => r.Reason).NotEmpty().When(r => r.Explanation is null)
            .WithMessage("`reason` is needed: why the over or short is accepted; or else `explanation`, the code of "
                + "one that GET /api/counts/{id}/explanations lists.");
        RuleFor(r => r.Reason).Null().When(r => r.Explanation is not null)
            .WithMessage("An explanation says why by itself: leave `reason` out.");
        RuleFor(r => r.OccurredOn).Null().When(r => r.Explanation is not null)
            .WithMessage("What an explanation writes stands on the days of its lines: leave `occurredOn` out.");
    }
}

internal sealed class SettlementInBatchRequestValidator : AbstractValidator<SettlementInBatchRequest>
{
    public SettlementInBatchRequestValidator()
    {
        RuleFor(r => r.Count).NotNull().WithMessage("`count` is needed: the id of the count to settle.");
        RuleFor(r => r.Reason).NotEmpty().WithMessage("`reason` is needed: why the over or short is accepted.");
    }
}

internal sealed class CountEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapMovement<CountRequest>("/counts")
            .WithSummary("Record a count: what was found, against what the book expected")
            .WithDescription("Moves no money. A difference is posted only when the count is settled.")
            .WithExample(
                """{"compartment": "ferry-fares", "denominations": {"20": 3, "2": 1, "0.50": 2}, "witness": "partner"}""",
                """{"lines": [61], "entryId": 61, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 64.00}], "countId": 61, "expected": 64.00, "counted": 63.00, "difference": -1.00}""");

        api.MapPost("/counts/{id:long}/settlement",
            async (HttpContext http, Caller caller, long id, Body<SettlementRequest> body, WriteDesk desk,
                Explaining explaining) =>
            {
                caller.MustBeAllowed(MovementKind.Settlement);
                if (body.Value.Explanation is { } code)
                {
                    return await SettleByExplanationAsync(http, caller, id, code, desk, explaining)
                        .ConfigureAwait(false);
                }

                var settlement = new SettlementInBatchRequest
                {
                    Count = id,
                    Reason = body.Value.Reason,
                    OccurredOn = body.Value.OccurredOn
                };
                return await MovementEndpoints.RecordAsync(http, desk, settlement).ConfigureAwait(false);
            })
            .Accepts<SettlementRequest>("application/json")
            .Produces<MovementAnswer>(StatusCodes.Status201Created)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Settle a count: post its over or short, or put right what explains it, so that the balance "
                + "agrees with the notes")
            .WithDescription("Only the last count of a place can be settled, once. It is that of the latest day, "
                + "whenever it was typed in. Lines recorded since the count and dated before it are taken into "
                + "account. With `explanation`, the requests of that explanation are written in one entry. The "
                + "count agrees then, and no over or short is posted.")
            .WithParameter("id", "The count's id, the number of its line.", "116")
            .WithExample(
                """{"reason": "Looked everywhere; probably a coin dropped on the pier"}""",
                """{"lines": [62], "entryId": 62, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 63.00}]}""");
    }
    // Worked out before the book decides; a repeated request gets its answer even if nothing is left to explain.
    private static async Task<IResult> SettleByExplanationAsync(HttpContext http, Caller caller, long id, string code,
        WriteDesk desk, Explaining explaining)
    {
        var explanation = await explaining.FindAsync(caller.Household, id, code, http.RequestAborted)
            .ConfigureAwait(false);
        var (entry, currency) = await desk.WriteAsync(http, new SettleByExplanation(id, code, explanation),
            $"settlement of {id}", code).ConfigureAwait(false);
        return TypedResults.Created($"/api/lines/{entry.Id}",
            MovementAnswer.Of(entry, currency!) with { Note = Beside(code) });
    }

    // By the code alone, so that a repeated request is answered the same.
    private static string? Beside(string code) => code.IndexOf(NotRecorded.Beside, StringComparison.Ordinal) is >= 0 and
        var at
        ? $"This says that it is not in line {code[(at + NotRecorded.Beside.Length)..].Split('+')[0].Replace("-", ", ",
            StringComparison.Ordinal)}. If it is, reverse what was written here."
        : null;
}

/// <summary>A line of the kind <c>count</c>.</summary>
public sealed record CountLine : LineAnswer, ILineOf<CountTaken>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>What a count or a bank statement expected.</summary>
    public required decimal Expected { get; init; }

    /// <summary>What a count found, or the bank states.</summary>
    public required decimal Counted { get; init; }

    /// <summary>Counted minus expected; what a settlement posted.</summary>
    public required decimal Difference { get; init; }

    /// <summary>What a count found by denomination.</summary>
    public IReadOnlyList<PiecesAnswer>? Denominations { get; init; }

    /// <summary>Who else was at a count.</summary>
    public string? Witness { get; init; }

    /// <summary>The count that a settlement settles.</summary>
    public required long CountId { get; init; }

    /// <summary>The round of counts that it belongs to, or is about.</summary>
    public long? Round { get; init; }

    /// <summary>For a count of a round: the last line that was written when it was taken.</summary>
    public long? AtLine { get; init; }

    static LineAnswer ILineOf<CountTaken>.Of(CountTaken e, LineTelling told) =>
        new CountLine
        {
            Compartment = e.Compartment,
            Holding = e.Holding,
            Expected = told.Say(e.Expected),
            Counted = told.Say(e.Counted),
            Difference = told.Say(e.Difference),
            Denominations = e.Pieces.IsDefaultOrEmpty ? null : PiecesAnswer.Of(e.Pieces, told.Currency),
            Witness = e.Witness.Length > 0 ? e.Witness : null,
            CountId = told.Line,
            Round = e.InRound?.Round,
            AtLine = e.InRound?.AtLine
        };
}

/// <summary>A line of the kind <c>settlement</c>.</summary>
public sealed record SettlementLine : MovementLineAnswer, ILineOf<CountSettled>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>Counted minus expected; what a settlement posted.</summary>
    public required decimal Difference { get; init; }

    /// <summary>The count that a settlement settles.</summary>
    public required long CountId { get; init; }

    static LineAnswer ILineOf<CountSettled>.Of(CountSettled e, LineTelling told) =>
        new SettlementLine
        {
            Compartment = e.Compartment,
            Holding = e.Holding,
            Difference = told.Say(e.Difference),
            CountId = e.Count
        };
}
