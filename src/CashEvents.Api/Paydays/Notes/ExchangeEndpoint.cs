using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>Two compartments exchange notes or coins of equal worth. Moves no money.</summary>
[Kind("exchange")]
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

internal sealed class ExchangeEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api.MapMovement<ExchangeRequest>("/exchanges")
        .WithSummary("Record an exchange: two compartments swap notes or coins of equal worth")
        .WithDescription("No balance changes. The notes of a compartment may be known from a count by "
            + "denomination (GET /api/compartments/{id}/notes). Then the notes given must be among them, and "
            + "they stay known after the exchange.")
        .WithExample(
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 1, "5": 2}, "description": "Small notes for the ferry"}""",
            """{"lines": [64], "entryId": 64, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 63.00}, {"compartment": "market-days", "holding": "cash", "balance": 45.00}]}""");
}

/// <summary>A line of the kind <c>exchange</c>.</summary>
public sealed record ExchangeLine : LineAnswer, ILineOf<NotesExchanged>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>The other compartment of an exchange.</summary>
    public required string With { get; init; }

    /// <summary>The pieces that the compartment of an exchange gives to the other.</summary>
    public required IReadOnlyList<PiecesAnswer> Gives { get; init; }

    /// <summary>The pieces that it gets back.</summary>
    public required IReadOnlyList<PiecesAnswer> Takes { get; init; }

    static LineAnswer ILineOf<NotesExchanged>.Of(NotesExchanged e, LineTelling told) =>
        new ExchangeLine
        {
            Compartment = e.Compartment,
            Holding = Domain.Books.Holding.Cash,
            With = e.With,
            Gives = PiecesAnswer.Of(e.Gives, told.Currency),
            Takes = PiecesAnswer.Of(e.Takes, told.Currency)
        };
}
