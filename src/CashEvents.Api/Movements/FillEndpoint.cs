using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Money enters a compartment from outside the book: pay, a bank draw, a gift.</summary>
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

internal static class FillEndpoint
{
    public static void MapFills(this IEndpointRouteBuilder api) => api.MapMovement<FillRequest>("/fills")
        .WithSummary("Record a fill: money enters a compartment from outside the book")
        .WithExample(
            """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-02", "description": "November pay"}""",
            """{"lines": [41], "entryId": 41, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 72.40}]}""");
}
