using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Money moves between two parts of the book; the total stays.</summary>
[Kind("transfer")]
public sealed record TransferRequest : MovementRequest
{
    /// <summary>Where it comes from.</summary>
    public PartRef? From { get; init; }

    /// <summary>Where it goes.</summary>
    public PartRef? To { get; init; }

    /// <summary>Above zero, with at most the currency's decimals.</summary>
    public decimal? Amount { get; init; }

    /// <summary>What to write beside it, at most 200 characters.</summary>
    public string? Description { get; init; }

    /// <summary>
    /// Whether it came from notes that somebody carries, and not from those in the place of `from`. If left out, yes
    /// when the sender's key is the carrier's own.
    /// </summary>
    public bool? Carried { get; init; }

    internal override MovementKind Kind => MovementKind.Transfer;

    internal override ICommand ToCommand() =>
        new RecordTransfer(From!.ToPart(), To!.ToPart(), Amount!.Value, OccurredOn, Description)
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

internal sealed class TransferEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api.MapMovement<TransferRequest>("/transfers")
        .WithSummary("Record a transfer: money moves between two parts of the book")
        .WithDescription("To take cash to the bank or back, name the same compartment twice: once with cash, "
            + "once with bank.")
        .WithExample(
            """{"from": {"compartment": "boat-insurance", "holding": "cash"}, "to": {"compartment": "boat-insurance", "holding": "bank"}, "amount": 80.00, "description": "Paid in at the counter"}""",
            """{"lines": [60], "entryId": 60, "balances": [{"compartment": "boat-insurance", "holding": "cash", "balance": 40.00}, {"compartment": "boat-insurance", "holding": "bank", "balance": 200.00}]}""");
}

/// <summary>A line of the kind <c>transfer</c>.</summary>
public sealed record TransferLine : MovementLineAnswer, ILineOf<Transferred>
{
    /// <summary>Where money came from, in a transfer or sweep.</summary>
    public required PartAnswer From { get; init; }

    /// <summary>Where money went, in a transfer or sweep.</summary>
    public required PartAnswer To { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    /// <summary>The count that a settlement settles.</summary>
    public long? CountId { get; init; }

    /// <summary>
    /// The face value of the notes or coins of a count that a transfer sets aside; the count is beside it.
    /// </summary>
    public decimal? SetsAside { get; init; }

    /// <summary>The line of the saving plan whose step a fill does.</summary>
    public long? SavingPlan { get; init; }

    /// <summary>The number of that step.</summary>
    public int? Step { get; init; }

    static LineAnswer ILineOf<Transferred>.Of(Transferred e, LineTelling told) =>
        new TransferLine
        {
            From = PartAnswer.Of(e.From),
            To = PartAnswer.Of(e.To),
            Amount = told.Say(e.Amount),
            CountId = e.SetsAside?.Count,
            SetsAside = e.SetsAside is { } pieces ? told.Say(pieces.Value) : null,
            SavingPlan = e.Step?.Plan,
            Step = e.Step?.Number
        };
}
