using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Money enters a compartment from outside the book: pay, a bank draw, a gift.</summary>
[Kind("fill")]
public sealed record FillRequest : MovementRequest
{
    /// <summary>The compartment's id.</summary>
    public string? Compartment { get; init; }

    /// <summary>Cash or bank; cash if left out.</summary>
    public Holding? Holding { get; init; }

    /// <summary>Above zero, with at most the currency's decimals.</summary>
    public decimal? Amount { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    internal override MovementKind Kind => MovementKind.Fill;

    internal override ICommand ToCommand() =>
        new RecordFill(Compartment!, Holding ?? Domain.Books.Holding.Cash, Amount!.Value, OccurredOn, Description);
}

internal sealed class FillRequestValidator : AbstractValidator<FillRequest>
{
    public FillRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Amount).IsAmount();
    }
}

internal sealed class FillEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api.MapMovement<FillRequest>("/fills")
        .WithSummary("Record a fill: money enters a compartment from outside the book")
        .WithExample(
            """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-02", "description": "November pay"}""",
            """{"lines": [41], "entryId": 41, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 72.40}]}""");
}

/// <summary>A line of the kind <c>fill</c>.</summary>
public sealed record FillLine : MovementLineAnswer, ILineOf<Filled>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    /// <summary>The line of the saving plan whose step a fill does.</summary>
    public long? SavingPlan { get; init; }

    /// <summary>The number of that step.</summary>
    public int? Step { get; init; }

    static LineAnswer ILineOf<Filled>.Of(Filled e, LineTelling told) =>
        new FillLine
        {
            Compartment = e.Compartment,
            Holding = e.Holding,
            Amount = told.Say(e.Amount),
            SavingPlan = e.Step?.Plan,
            Step = e.Step?.Number
        };
}
