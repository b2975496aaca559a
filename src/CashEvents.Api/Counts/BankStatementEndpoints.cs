using FluentValidation;

namespace CashEvents.Api.Counts;

/// <summary>One figure of the bank's statement against all bank parts together. Moves no money.</summary>
[Kind("bankStatement")]
public sealed record BankStatementRequest : MovementRequest
{
    /// <summary>What the bank states for what the book has there; leave out what else lies in the account.</summary>
    public decimal? Total { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    internal override MovementKind Kind => MovementKind.Count;

    internal override ICommand ToCommand() => new ReadBankStatement(Total!.Value, OccurredOn, Description);
}

/// <summary>Settles a bank statement: posts its difference in one compartment's bank part.</summary>
/// <param name="Compartment">The compartment that takes it.</param>
/// <param name="Reason">Why it is accepted, at most 200 characters.</param>
/// <param name="OccurredOn">The day, not before the statement's; today if left out.</param>
public sealed record BankStatementSettlementRequest(string? Compartment, string? Reason, DateOnly? OccurredOn);

/// <summary>What a compartment has in the bank.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Amount">How much.</param>
public sealed record BankPartAnswer(string Compartment, decimal Amount);

internal sealed class BankStatementRequestValidator : AbstractValidator<BankStatementRequest>
{
    public BankStatementRequestValidator() => RuleFor(r => r.Total)
        .NotNull().WithMessage("`total` is needed: what the bank states, a number such as 612.40.")
        .GreaterThanOrEqualTo(0m).WithMessage("`total` is what the bank states: zero or more.");
}

internal sealed class BankStatementSettlementRequestValidator : AbstractValidator<BankStatementSettlementRequest>
{
    public BankStatementSettlementRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Reason).NotEmpty().WithMessage("`reason` is needed: why the over or short is accepted.");
    }
}

internal sealed class BankStatementEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapMovement<BankStatementRequest>("/bank-statements")
            .WithSummary("Record the bank's statement: one figure against the total of all bank parts, with the "
                + "compartments that make it up")
            .WithDescription("Moves no money. A key that may count may record it. A statement of an earlier day "
                + "is held against the balances at the end of that day, today's against those of now. What "
                + "becomes known later and belongs before it is taken into account. GET /api/reconciliation "
                + "tells the last one, by its day.")
            .WithExample(
                """{"total": 612.40, "occurredOn": "2026-11-14"}""",
                """
                {"lines": [63], "entryId": 63,
                 "balances": [{"compartment": "boat-insurance", "holding": "bank", "balance": 400.00}, {"compartment": "rainy-day", "holding": "bank", "balance": 211.20}],
                 "statementId": 63, "expected": 611.20, "counted": 612.40, "difference": 1.20,
                 "parts": [{"compartment": "boat-insurance", "amount": 400.00}, {"compartment": "rainy-day", "amount": 211.20}]}
                """);

        api.MapPost("/bank-statements/{id:long}/settlement",
            async (HttpContext http, Caller caller, long id, Body<BankStatementSettlementRequest> body,
                WriteDesk desk) =>
            {
                caller.MustBeAllowed(MovementKind.Settlement);
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    new SettleBankStatement(id, sent.Compartment!, sent.Reason!, sent.OccurredOn),
                    $"settlement of bank statement {id}", sent).ConfigureAwait(false);
                return TypedResults.Created($"/api/lines/{entry.Id}", MovementAnswer.Of(entry, currency!));
            })
            .Accepts<BankStatementSettlementRequest>("application/json")
            .Produces<MovementAnswer>(StatusCodes.Status201Created)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Settle a bank statement: post its over or short in one compartment's bank part")
            .WithDescription("The compartment named gets the interest that the bank has paid, or bears the fee "
                + "that it has taken. Only the last statement can be settled, once. A movement that was "
                + "forgotten is written as what it was instead, dated before the statement.")
            .WithParameter("id", "The statement's id, the number of its line.", "63")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(
                """{"compartment": "rainy-day", "reason": "Interest of the third quarter"}""",
                """{"lines": [64], "entryId": 64, "balances": [{"compartment": "rainy-day", "holding": "bank", "balance": 212.40}]}""");
    }
}

/// <summary>A line of the kind <c>bankStatement</c>.</summary>
public sealed record BankStatementLine : LineAnswer, ILineOf<BankStatementRead>
{
    /// <summary>The bank statement that a settlement settles; of a statement, its own id.</summary>
    public required long StatementId { get; init; }

    /// <summary>What a count or a bank statement expected.</summary>
    public required decimal Expected { get; init; }

    /// <summary>What a count found, or the bank states.</summary>
    public required decimal Counted { get; init; }

    /// <summary>Counted minus expected; what a settlement posted.</summary>
    public required decimal Difference { get; init; }

    /// <summary>For a bank statement: what each compartment had in the bank.</summary>
    public required IReadOnlyList<BankPartAnswer> Parts { get; init; }

    /// <summary>
    /// For a bank statement: whether it states the balance at the end of its day, since it was read on a later one.
    /// </summary>
    public required bool AtDaysEnd { get; init; }

    static LineAnswer ILineOf<BankStatementRead>.Of(BankStatementRead e, LineTelling told) =>
        new BankStatementLine
        {
            StatementId = told.Line,
            Expected = told.Say(e.Expected),
            Counted = told.Say(e.Stated),
            Difference = told.Say(e.Difference),
            Parts = [.. e.Parts.Select(p => new BankPartAnswer(p.Compartment, told.Say(p.Amount)))],
            AtDaysEnd = e.AtDaysEnd
        };
}

/// <summary>A line of the kind <c>bankStatementSettlement</c>.</summary>
public sealed record BankStatementSettlementLine : MovementLineAnswer, ILineOf<BankStatementSettled>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>Counted minus expected; what a settlement posted.</summary>
    public required decimal Difference { get; init; }

    /// <summary>The bank statement that a settlement settles; of a statement, its own id.</summary>
    public required long StatementId { get; init; }

    static LineAnswer ILineOf<BankStatementSettled>.Of(BankStatementSettled e, LineTelling told) =>
        new BankStatementSettlementLine
        {
            Compartment = e.Compartment,
            Holding = Domain.Books.Holding.Bank,
            Difference = told.Say(e.Difference),
            StatementId = e.Statement
        };
}
