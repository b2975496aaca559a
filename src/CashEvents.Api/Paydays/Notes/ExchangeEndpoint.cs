using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>Two compartments exchange notes or coins of equal worth. Moves no money.</summary>
public sealed record ExchangeRequest : MovementRequest
{
    /// <summary>The one compartment's id.</summary>
    public string? Compartment { get; init; }

    /// <summary>The other's.</summary>
    public string? With { get; init; }

    /// <summary>The pieces that go from the one to the other, as <c>{"20": 1}</c>.</summary>
    public IReadOnlyDictionary<string, long>? Gives { get; init; }

    /// <summary>The pieces that come back, worth the same, as <c>{"10": 2}</c>.</summary>
    public IReadOnlyDictionary<string, long>? Takes { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    internal override MovementKind Kind => MovementKind.Exchange;

    internal override ICommand ToCommand() =>
        new RecordExchange(Compartment!, With!, Gives!, Takes!, OccurredOn, Description);
}

internal sealed class ExchangeRequestValidator : AbstractValidator<ExchangeRequest>
{
    public ExchangeRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.With).IsCompartment();
        RuleFor(r => r.Gives).NotNull()
            .WithMessage("`gives` is needed: the pieces that go to the other compartment, such as {\"20\": 1}.");
        RuleFor(r => r.Takes).NotNull()
            .WithMessage("`takes` is needed: the pieces that come back, such as {\"10\": 2}.");
    }
}

internal static class ExchangeEndpoint
{
    public static void MapExchanges(this IEndpointRouteBuilder api) => api.MapMovement<ExchangeRequest>("/exchanges")
        .WithSummary("Record an exchange: two compartments swap notes or coins of equal worth")
        .WithDescription("No balance changes. Where the notes of a compartment are known from a count by denomination "
            + "(GET /api/compartments/{id}/notes), the notes given must be among them, and they are known after the "
            + "exchange too.")
        .WithExample(
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 1, "5": 2}, "description": "Small notes for the ferry"}""",
            """{"lines": [64], "entryId": 64, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 63.00}, {"compartment": "market-days", "holding": "cash", "balance": 45.00}]}""");
}
