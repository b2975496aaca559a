using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Undoes a line.</summary>
/// <param name="Reason">Why, at most 200 characters; it stands beside the reversal.</param>
public sealed record ReversalRequest(string? Reason);

/// <summary>Undoes a line and writes the right movement in its stead.</summary>
/// <param name="Reason">Why, at most 200 characters; it stands beside the reversal.</param>
/// <param name="Replacement">The right movement with its <c>kind</c>: a fill, spend, refund, transfer or sweep, without
/// an idempotency key of its own; on the earlier line's day if it names none.</param>
public sealed record AmendmentRequest(string? Reason, MovementRequest? Replacement);

internal sealed class ReversalRequestValidator : AbstractValidator<ReversalRequest>
{
    public ReversalRequestValidator() =>
        RuleFor(r => r.Reason).NotEmpty().WithMessage("`reason` is needed: why the line is undone.");
}

internal sealed class AmendmentRequestValidator : AbstractValidator<AmendmentRequest>
{
    public AmendmentRequestValidator()
    {
        RuleFor(r => r.Reason).NotEmpty().WithMessage("`reason` is needed: why the line is amended.");
        RuleFor(r => r.Replacement).NotNull()
            .WithMessage("`replacement` is needed: the right movement with its kind, such as {\"kind\": \"spend\", "
                + "\"compartment\": \"ferry-fares\", \"amount\": 8.40}.");
    }
}

internal sealed class CorrectionEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapPost("/lines/{n:long}/reversal",
            async (HttpContext http, Caller caller, long n, Body<ReversalRequest> body, WriteDesk desk,
                BookReader books, LineReader lines) =>
            {
                caller.MustBeAllowed(MovementKind.Reversal);
                var written = await WrittenAsync(http, caller, n, books, lines).ConfigureAwait(false);
                return await WriteAsync(http, desk, new ReverseLine(n, written, body.Value.Reason!), $"reversal of {n}",
                    body.Value).ConfigureAwait(false);
            })
            .Accepts<ReversalRequest>("application/json")
            .Produces<MovementAnswer>(StatusCodes.Status201Created)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Reverse a line: undo a fill, spend, refund, transfer, sweep or settlement")
            .WithDescription("Both lines stay in the book and name each other. The reversal stands on the line's "
                + "own day, or today when the month of that day is closed. A line is reversed once. A reversal "
                + "is never reversed, but amended. Refused where it would leave a balance below zero on any day. "
                + "The answer names the day.")
            .WithParameter("n", "Number of the line to undo.", "53")
            .WithExample(
                """{"reason": "The ticket was written down twice"}""",
                """{"lines": [63], "entryId": 63, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 72.40}]}""");

        api.MapPost("/lines/{n:long}/amendment",
            async (HttpContext http, Caller caller, long n, Body<AmendmentRequest> body, WriteDesk desk,
                BookReader books, LineReader lines) =>
            {
                var replacement = body.Value.Replacement!;
                caller.MustBeAllowed(MovementKind.Amendment);
                caller.MustBeAllowed(replacement.Kind);
                Validation.CheckWithin(http.RequestServices, replacement, "replacement");
                var written = await WrittenAsync(http, caller, n, books, lines).ConfigureAwait(false);
                return await WriteAsync(http, desk,
                    new AmendLine(n, written, replacement.ToCommand(), body.Value.Reason!), $"amendment of {n}",
                    body.Value).ConfigureAwait(false);
            })
            .Accepts<AmendmentRequest>("application/json")
            .Produces<MovementAnswer>(StatusCodes.Status201Created)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Amend a line: undo it and write the right movement in its place, in one entry")
            .WithDescription("`replacement` is a fill, spend, refund, transfer or sweep with its `kind`. Without "
                + "`occurredOn` it stands on the earlier line's day. What belongs to a closed month is posted "
                + "today and names that day. A script's key needs `amendment`, and the kinds of the line that is "
                + "undone and of all that replaces it. No balance may be below zero at the end of the entry. "
                + "Between its lines one may. An amended reversal stays, and the replacement counts instead of "
                + "what it undid.")
            .WithParameter("n", "Number of the line that is wrong.", "58")
            .WithExample(
                """{"reason": "Read the ticket again", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 8.90, "description": "Return to the mainland"}}""",
                """{"lines": [63, 64], "entryId": 63, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 63.50}]}""");
    }

    // What a line says never changes, so it can be read before the book decides.
    private static async Task<IBookEvent> WrittenAsync(HttpContext http, Caller caller, long n, BookReader books,
        LineReader lines) =>
        (await lines.FindAsync(caller.Household, n, http.RequestAborted).ConfigureAwait(false))?.Event
            ?? throw LineEndpoints.Unknown(n,
                await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false));

    private static async Task<IResult> WriteAsync(HttpContext http, WriteDesk desk, ICommand correction, string what,
        object sent)
    {
        var (entry, currency) = await desk.WriteAsync(http, correction, what, sent).ConfigureAwait(false);
        return TypedResults.Created($"/api/lines/{entry.Id}", MovementAnswer.Of(entry, currency!));
    }
}

/// <summary>A line of the kind <c>reversal</c>.</summary>
public sealed record ReversalLine : MovementLineAnswer, ILineOf<Reversed>
{
    /// <summary>The earlier line that this one undoes.</summary>
    public required long Reverses { get; init; }

    /// <summary>The count that a settlement settles.</summary>
    public long? CountId { get; init; }

    /// <summary>The bank statement that a settlement settles; of a statement, its own id.</summary>
    public long? StatementId { get; init; }

    /// <summary>
    /// The face value of the notes or coins of a count that a transfer sets aside; the count is beside it.
    /// </summary>
    public decimal? SetsAside { get; init; }

    /// <summary>The goal that is set or removed, or whose bill a spend pays.</summary>
    public string? Goal { get; init; }

    /// <summary>The first due date of a goal or a saving plan, or that of the bill that a spend pays.</summary>
    public DateOnly? Due { get; init; }

    /// <summary>The line of the saving plan whose step a fill does.</summary>
    public long? SavingPlan { get; init; }

    /// <summary>The number of that step.</summary>
    public int? Step { get; init; }

    /// <summary>The payday that a fill run fills, is undone for, or that is left.</summary>
    public DateOnly? Payday { get; init; }

    /// <summary>
    /// For a fill run: what each place gets. For a reversal: the changes it makes, each the other way round than the
    /// line it undoes.
    /// </summary>
    public required IReadOnlyList<ChangeAnswer> Changes { get; init; }

    static LineAnswer ILineOf<Reversed>.Of(Reversed e, LineTelling told) =>
        new ReversalLine
        {
            Reverses = e.Corrects.Line,
            CountId = e.Count ?? e.SetsAside?.Count,
            StatementId = e.Statement,
            SetsAside = e.SetsAside is { } pieces ? told.Say(pieces.Value) : null,
            Goal = e.Pays?.Goal,
            Due = e.Pays?.Due,
            SavingPlan = e.Step?.Plan,
            Step = e.Step?.Number,
            Payday = e.Payday,
            Changes = [.. e.Changes.Select(
                c => new ChangeAnswer(c.Place.Compartment, c.Place.Holding, told.Say(c.Amount)))]
        };
}
