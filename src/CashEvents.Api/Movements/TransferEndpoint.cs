using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Money moves between two places of the book; the total stays.</summary>
public sealed record TransferRequest : MovementRequest
{
    /// <summary>Where it comes from.</summary>
    public PlaceRef? From { get; init; }

    /// <summary>Where it goes.</summary>
    public PlaceRef? To { get; init; }

    /// <summary>Above zero, with at most the currency's decimals.</summary>
    public decimal? Amount { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    /// <summary>
    /// Whether it came from notes that somebody carries, and not from those in the place of `from`; if left out, yes
    /// when the sender's key is the carrier's own.
    /// </summary>
    public bool? Carried { get; init; }

    internal override MovementKind Kind => MovementKind.Transfer;

    internal override ICommand ToCommand() =>
        new RecordTransfer(From!.ToPlace(), To!.ToPlace(), Amount!.Value, OccurredOn,
            Description)
        { Hands = new Hands(Carried: Carried) };
}

internal sealed class TransferRequestValidator : AbstractValidator<TransferRequest>
{
    public TransferRequestValidator()
    {
        RuleFor(r => r.From).IsPlace();
        RuleFor(r => r.To).IsPlace();
        RuleFor(r => r.Amount).IsAmount();
    }
}

internal static class TransferEndpoint
{
    public static void MapTransfers(this IEndpointRouteBuilder api) => api.MapMovement<TransferRequest>("/transfers")
        .WithSummary("Record a transfer: money moves between two places of the book")
        .WithDescription("The same compartment with two holdings is how cash is taken to the bank and back.")
        .WithExample(
            """{"from": {"compartment": "boat-insurance", "holding": "cash"}, "to": {"compartment": "boat-insurance", "holding": "bank"}, "amount": 80.00, "description": "Paid in at the counter"}""",
            """{"lines": [60], "entryId": 60, "balances": [{"compartment": "boat-insurance", "holding": "cash", "balance": 40.00}, {"compartment": "boat-insurance", "holding": "bank", "balance": 200.00}]}""");
}
