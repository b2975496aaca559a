using System.Collections.Immutable;

namespace CashEvents.Domain.Movements;

/// <summary>Line: an earlier line is undone. Both stay in the book; reports count neither.</summary>
/// <param name="Corrects">The line that is undone.</param>
/// <param name="Kind">That line's kind of movement.</param>
/// <param name="Changes">That line's changes, each the other way.</param>
/// <param name="OccurredOn">That line's day, or a day of the open month when its own is closed.</param>
/// <param name="Description">The reason.</param>
public sealed record Reversed(Correction Corrects, MovementKind Kind, ImmutableArray<Posting> Changes, DateOnly OccurredOn, string Description) : IMovement
{
    /// <summary>The count whose settlement is undone; if no later count stands in its stead it is open again then.</summary>
    public long? Count { get; init; }

    /// <summary>The bank statement whose settlement is undone; if it is still the last it is open again then.</summary>
    public long? Statement { get; init; }

    /// <summary>The bill whose payment is undone; it is open again then.</summary>
    public PaidBill? Pays { get; init; }

    /// <summary>The step of a saving plan that is undone; it is to be done again then.</summary>
    public DoneStep? Step { get; init; }

    /// <summary>The notes or coins of a count that are back where they were counted.</summary>
    public CountedPieces? SetsAside { get; init; }

    /// <summary>What it puts back into the hands of who carries it still, or takes out of them.</summary>
    public CarriedChange? Carried { get; init; }

    /// <summary>The payday whose fill run is undone; it may be filled again then.</summary>
    public DateOnly? Payday { get; init; }

    /// <summary>Whether that payday had not come yet when its run was undone, as a clock that was ahead can do: it is filled when it comes, as if it had never been. Absent otherwise.</summary>
    public bool? Early { get; init; }

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => Changes;

    Correction? IMovement.Corrects => Corrects;
}

/// <summary>Undoes an earlier line, once.</summary>
/// <param name="Line">Its number.</param>
/// <param name="Written">What it says.</param>
/// <param name="Reason">Why.</param>
public sealed record ReverseLine(long Line, IBookEvent Written, string Reason) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var reversal = Reversal(book, today);
        reversal = reversal.Payday > today ? reversal with { Early = true } : reversal;
        book.MustHaveAfter([reversal], $"Without line {Line}");
        return [reversal];
    }

    /// <summary>The reversal, whatever it leaves in the places it touches.</summary>
    internal Reversed Reversal(Book book, DateOnly today)
    {
        var reason = Words.Reason(Reason);
        if (Written is Reversed)
        {
            throw Refusal.Conflict("line-is-reversal", $"Line {Line} is a reversal, and can't be reversed: write the right movement with POST /api/lines/{Line}/amendment.");
        }

        var movement = Movement();
        book.MustStand(Line);
        if (movement.Postings.FirstOrDefault(p => book.Compartments[p.Place.Compartment].Closed).Place.Compartment is { } closed)
        {
            throw Refusal.Conflict("compartment-closed", $"Line {Line} moved money of '{closed}', which is closed: reopen it with PATCH /api/compartments/{closed} {{\"closed\": false}} first.");
        }

        var (day, closedDay) = book.DayToCorrect(movement, today);
        return new Reversed(new Correction(Line, closedDay), movement.Kind, [.. movement.Postings.Select(p => p with { Amount = -p.Amount })], day, reason)
        {
            Count = (movement as CountSettled)?.Count,
            Statement = (movement as BankStatementSettled)?.Statement,
            Pays = (movement as Spent)?.Pays,
            Step = (movement as Filled)?.Step ?? (movement as Transferred)?.Step,
            SetsAside = (movement as Transferred)?.SetsAside,
            Carried = movement.Carried is { } carried ? carried with { Change = -carried.Change } : null,
            Payday = (movement as PaydayFilled)?.Run.Payday,
        };
    }

    private IMovement Movement() => Written as IMovement ?? throw Refusal.Conflict("line-moves-nothing", $"Line {Line} moves no money, so there is nothing to reverse: {Mend()}.");

    private string Mend() => Written switch
    {
        NotesExchanged e => $"exchange the notes back between '{e.Compartment}' and '{e.With}', or count both again",
        NotesWished e => $"wish anew with PUT /api/compartments/{e.Compartment}/notes",
        CountTaken e => $"count {e.Compartment} again, and the new count stands in its stead",
        BankStatementRead => "read the bank's statement again, and the new one stands in its stead",
        CountRoundOpened => $"close the round with POST /api/count-rounds/{Line}/close",
        CountsConfirmed => "count again, and the new count is not confirmed",
        CountRoundClosed => "open another round with POST /api/count-rounds",
        HandedOver => $"bring it back with POST /api/handovers/{Line}/return",
        HandoverReturned => "hand it over again with POST /api/handovers",
        PlaceSet e => $"set the place anew with PUT /api/places/{e.Place}",
        PlaceRemoved e => $"name the place again with PUT /api/places/{e.Place}",
        CautionLimitsSet => "set the limits anew with PUT /api/caution-limits",
        PlanSet e => $"set the plan from {e.From:O} again, and the new one stands in its stead",
        GoalSet e => $"change '{e.Goal}' with PATCH /api/goals/{e.Goal}, or remove it",
        GoalRemoved e => $"set '{e.Goal}' again with POST /api/goals",
        FundTermsSet e => $"say anew how '{e.Compartment}' is kept with PUT /api/sinking-funds/{e.Compartment}",
        SavingPlanSet e => $"set another plan with PUT /api/saving-plans/{e.Compartment}",
        FillRuleSet e => $"set another rule with PUT /api/compartments/{e.Compartment}/fill-rule, or remove it",
        FillRuleRemoved e => $"set the rule again with PUT /api/compartments/{e.Compartment}/fill-rule",
        AutomaticFillsSet => "stop the automatic fills with DELETE /api/automatic-fills, or set another time",
        AutomaticFillsStopped => "start the automatic fills again with PUT /api/automatic-fills",
        PaydayLeft e => $"fill {e.Payday:O} with POST /api/fill-runs",
        CompartmentOpened e => $"change '{e.Compartment}' with PATCH /api/compartments/{e.Compartment}, or close it",
        CompartmentRelabelled or CompartmentMoved or CompartmentClosed or CompartmentReopened => $"change '{Written.About.First()}' back with PATCH /api/compartments/{Written.About.First()}",
        HouseholdDescribed => "describe the household anew with PUT /api/household",
        WalletOpened e => $"change '{e.Wallet}' with PATCH /api/wallets/{e.Wallet}, or close it",
        WalletRelabelled { Wallet: var wallet } => $"change '{wallet}' back with PATCH /api/wallets/{wallet}",
        WalletClosed { Wallet: var wallet } => $"reopen '{wallet}' with PATCH /api/wallets/{wallet}",
        WalletReopened { Wallet: var wallet } => $"close '{wallet}' again with PATCH /api/wallets/{wallet}",
        KeyIssued e => $"revoke the key with DELETE /api/keys?name={Uri.EscapeDataString(e.Name)}",
        KeyRevoked => "issue another key with POST /api/keys",
        ClockWasAhead => "what it says of the lines before it stays",
        MonthClosed e => $"reopen {e.Month} instead",
        MonthReopened e => $"close {e.Month} again instead",
        _ => "what it says can be said anew",
    };
}
