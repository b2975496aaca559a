using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Money leaves to a seller.</summary>
[Kind("spend")]
public sealed record SpendRequest : MovementRequest
{
    /// <summary>The compartment's id.</summary>
    public string? Compartment { get; init; }

    /// <summary>Cash or bank; cash if left out.</summary>
    public Holding? Holding { get; init; }

    /// <summary>Above zero, with at most the currency's decimals.</summary>
    public decimal? Amount { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    /// <summary>A compartment that gives what is missing: it is transferred first, in the same entry.</summary>
    public string? RestFrom { get; init; }

    /// <summary>A goal of the compartment, whose next open bill this spend pays, whatever its amount.</summary>
    public string? Goal { get; init; }

    /// <summary>
    /// Whether it was paid from notes that somebody carries, and not from those in the compartment's place. If left
    /// out, yes when the sender's key is the carrier's own.
    /// </summary>
    public bool? Carried { get; init; }

    internal override MovementKind Kind => MovementKind.Spend;

    internal override ICommand ToCommand() =>
        new RecordSpend(Compartment!, Holding ?? Domain.Books.Holding.Cash, Amount!.Value, OccurredOn, Description,
            RestFrom, Goal)
        { Hands = new Hands(Carried: Carried) };
}

internal sealed class SpendRequestValidator : AbstractValidator<SpendRequest>
{
    public SpendRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Amount).IsAmount();
    }
}

internal sealed class SpendEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api.MapMovement<SpendRequest>("/spends")
        .WithSummary("Record a spend: money leaves to a seller")
        .WithDescription("With `restFrom` the rest comes from another compartment: what is missing is first "
            + "transferred, in the same entry. Without it, a spend of more than is there is refused. The refusal "
            + "says what is there and where the rest could come from. With `goal`, a bill of a sinking fund is "
            + "paid and its next occurrence takes over. Where two spends pay one bill, name the goal in one of "
            + "them. Where somebody else carries cash of the compartment, a spend of more than lies in its place "
            + "is refused. The refusal says who carries it and since when. `carried` says that it was paid from "
            + "that.")
        .WithExample(
            """{"compartment": "ferry-fares", "amount": 8.40, "occurredOn": "2026-11-03", "description": "Return to the mainland"}""",
            """{"lines": [52], "entryId": 52, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 64.00}]}""");
}

/// <summary>A line of the kind <c>spend</c>.</summary>
public sealed record SpendLine : MovementLineAnswer, ILineOf<Spent>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    /// <summary>The goal that is set or removed, or whose bill a spend pays.</summary>
    public string? Goal { get; init; }

    /// <summary>The first due date of a goal or a saving plan, or that of the bill that a spend pays.</summary>
    public DateOnly? Due { get; init; }

    static LineAnswer ILineOf<Spent>.Of(Spent e, LineTelling told) =>
        new SpendLine
        {
            Compartment = e.Compartment,
            Holding = e.Holding,
            Amount = told.Say(e.Amount),
            Goal = e.Pays?.Goal,
            Due = e.Pays?.Due
        };
}
