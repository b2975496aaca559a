using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Money comes back from a seller.</summary>
[Kind("refund")]
public sealed record RefundRequest : MovementRequest
{
    /// <summary>The compartment's id.</summary>
    public string? Compartment { get; init; }

    /// <summary>Cash or bank; cash if left out.</summary>
    public Holding? Holding { get; init; }

    /// <summary>Above zero, with at most the currency's decimals.</summary>
    public decimal? Amount { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    /// <summary>
    /// Whether it went to the notes that somebody carries, and not into the compartment's place. If left out, yes when
    /// the sender's key is the carrier's own.
    /// </summary>
    public bool? Carried { get; init; }

    internal override MovementKind Kind => MovementKind.Refund;

    internal override ICommand ToCommand() =>
        new RecordRefund(Compartment!, Holding ?? Domain.Books.Holding.Cash, Amount!.Value, OccurredOn, Description)
        { Hands = new Hands(Carried: Carried) };
}

internal sealed class RefundRequestValidator : AbstractValidator<RefundRequest>
{
    public RefundRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Amount).IsAmount();
    }
}

internal sealed class RefundEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api.MapMovement<RefundRequest>("/refunds")
        .WithSummary("Record a refund: money comes back from a seller")
        .WithExample(
            """{"compartment": "market-days", "amount": 4.80, "description": "Cracked jar taken back"}""",
            """{"lines": [58], "entryId": 58, "balances": [{"compartment": "market-days", "holding": "cash", "balance": 37.15}]}""");
}

/// <summary>A line of the kind <c>refund</c>.</summary>
public sealed record RefundLine : MovementLineAnswer, ILineOf<Refunded>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    static LineAnswer ILineOf<Refunded>.Of(Refunded e, LineTelling told) =>
        new RefundLine { Compartment = e.Compartment, Holding = e.Holding, Amount = told.Say(e.Amount) };
}
