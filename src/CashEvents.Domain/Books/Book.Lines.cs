using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

// What each kind of line changes.
public sealed partial record Book
{
    /// <summary>The book with one more line.</summary>
    public Book Apply(IBookEvent line)
    {
        // Movements, nearly all of the lines, count themselves, so that the book is copied once.
        var after = Write(line);
        return after.Line > Line ? after : after with { Line = Line + 1 };
    }

    private Book Write(IBookEvent line) => line switch
    {
        HouseholdDescribed e => this with { Household = e.Described },
        WalletOpened e => this with { Wallets = Wallets.Add(e.Wallet, new Wallet(e.Wallet, e.Label, Line + 1)) },
        WalletRelabelled e => With(Wallets[e.Wallet] with { Label = e.Label }),
        WalletClosed e => With(Wallets[e.Wallet] with { Closed = true, LiesIn = null }),
        WalletReopened e => With(Wallets[e.Wallet] with { Closed = false }),
        CompartmentOpened e => With(new Compartment(e.Compartment, e.Label, e.Wallet, e.Purpose, Line + 1)),
        CompartmentRelabelled e => With(Compartments[e.Compartment] with { Label = e.Label }),
        CompartmentMoved e => With(Compartments[e.Compartment] with { Wallet = e.Wallet }),
        CompartmentClosed e => With(Compartments[e.Compartment] with { Closed = true }),
        CompartmentReopened e => With(Compartments[e.Compartment] with { Closed = false }),
        KeyIssued e => this with { Keys = Keys.Add(e.Name, e.At(Line + 1)) },
        KeyRevoked e => this with { Keys = Keys.SetItem(e.Name, Keys[e.Name] with { Revoked = true }) },
        CountTaken e => Counted(e) with { HasAmounts = true },
        CountSettled e => Move(e).Settled(e),
        BankStatementRead e => BankStatement?.OccurredOn > e.OccurredOn ? this with { HasAmounts = true } : this with { BankStatement = e.At(Line + 1), HasAmounts = true },
        // What a settlement posts was found there: the statement does not learn it.
        BankStatementSettled e => Move(e) with { BankStatement = BankStatement! with { Settled = true } },
        Reversed e => Undo(e),
        Filled { Step: { } step } e => Saved(e, step),
        Transferred { Step: { } step } e => Saved(e, step),
        Transferred { SetsAside: { } pieces } e => SetAside(e, pieces),
        Spent { Pays: { } paid } e => Paid(e, paid),
        PaydayFilled e => Move(e).WithPayday(e.Run.Payday, Line + 1, PaydayState.Filled),
        IMovement e => Move(e),
        NotesWished e => With(Compartments[e.Compartment] with { NoteWishes = new NoteWishes(e.Prefer, e.Avoid, e.AtLeast) }),
        NotesExchanged e => Exchanged(e),
        CountRoundOpened e => this with { CountRounds = CountRounds.Add(Line + 1, e.At(Line + 1)) },
        CountsConfirmed e => Confirmed(e),
        CountRoundClosed e => this with { CountRounds = CountRounds.Remove(e.Round) },
        HandedOver e => this with { Handovers = Handovers.Add(e.Compartment, e.At(Line + 1, Compartments[e.Compartment].Cash)), HasAmounts = true },
        HandoverReturned e => this with { Handovers = Handovers.Remove(e.Compartment) },
        PlaceSet e => e.On(this),
        PlaceRemoved e => this with { Places = Places.Remove(e.Place) },
        CautionLimitsSet e => this with { CautionLimits = new CautionLimits(e.CashAtHome, e.Carried, Line + 1), HasAmounts = true },
        PlanSet e => this with { Plan = Plan.With(e, Line + 1), HasAmounts = true },
        IncomeSourceSet e => this with { IncomeSources = IncomeSources.SetItem(e.Source, e.Set), HasAmounts = HasAmounts || e.Amount is not null },
        IncomeSourceEnded e => this with { IncomeSources = IncomeSources.Remove(e.Source) },
        StandingPaymentSet e => this with { StandingPayments = StandingPayments.SetItem(e.Payment, e.Set), HasAmounts = true },
        StandingPaymentEnded e => this with { StandingPayments = StandingPayments.Remove(e.Payment) },
        GoalSet e => this with { Goals = Goals.SetItem(e.Goal, e.On(Goals.GetValueOrDefault(e.Goal), Line + 1)), HasAmounts = true },
        GoalRemoved e => this with { Goals = Goals.Remove(e.Goal) },
        SavingPlanSet e => this with { SavingPlans = SavingPlans.SetItem(e.Compartment, new SavingPlan(e.Compartment, e.Steps, e.From, e.Every, Line + 1)), HasAmounts = true },
        FundTermsSet e => this with { FundTerms = FundTerms.SetItem(e.Compartment, new FundTerms(e.BankPercent, e.InterestBasisPoints)) },
        FillRuleSet e => this with { FillRules = FillRules.SetItem(e.Compartment, e.Set), HasAmounts = HasAmounts || (e.Amount ?? e.Ceiling ?? e.RoundTo) is not null },
        FillRuleRemoved e => this with { FillRules = FillRules.Remove(e.Compartment) },
        AutomaticFillsSet e => this with { AutomaticFills = e.Set },
        AutomaticFillsStopped => this with { AutomaticFills = null },
        PaydayLeft e => WithPayday(e.Payday, Line + 1, PaydayState.Left),
        ClockWasAhead e => Ahead(e),
        MonthClosed e => this with { ClosedMonths = ClosedMonths.With(ClosedMonths, e.Month) },
        MonthReopened => this with { ClosedMonths = ClosedMonths!.WithoutLatest },
        _ => throw new ArgumentException($"The book knows no line of the kind {line.GetType().Name}.", nameof(line)),
    };

    private Book With(Compartment compartment) => this with { Compartments = Compartments.SetItem(compartment.Id, compartment) };

    private Book With(Wallet wallet) => this with { Wallets = Wallets.SetItem(wallet.Id, wallet) };

    private Book Counted(CountTaken e)
    {
        var atLine = e.InRound?.AtLine ?? Line;
        var last = Compartments[e.Compartment].Count(e.Holding);
        // One that is typed in late is a line of the book, and the count of a later day stands.
        var book = last?.OccurredOn > e.OccurredOn ? this : Counted(e, last, atLine);
        return e.InRound is { } inRound ? book.InRound(inRound.Round, e.Compartment, counted => counted.Counted(new RoundCount(Line + 1, atLine, inRound.By))) : book;
    }

    private Book Counted(CountTaken e, LastCount? before, long atLine)
    {
        var compartment = Compartments[e.Compartment];
        var meanwhile = e.Holding == Holding.Cash ? RoundWith(e.Compartment)?.Find(e.Compartment)!.MovedAfter(e.OccurredOn, atLine).ToList() ?? [] : [];
        var count = new LastCount(Line + 1, e.OccurredOn, e.Expected, e.Counted)
        {
            AtLine = atLine,
            MovedSince = meanwhile.Where(m => m.Change != Money.Zero).Select(m => (DateOnly?)m.BelongsTo).Append(MovedAfter(e, before)).Min(),
        };
        var areNotesKnown = count.MovedSince is null && meanwhile.Count == 0 && !(compartment.ExchangedOn > e.OccurredOn);
        return With(e.Holding == Holding.Bank ? compartment.WithCount(e.Holding, count)
            : compartment.WithCount(e.Holding, count) with { Notes = areNotesKnown ? KnownNotes.From(e, Line + 1) : null });
    }

    // The count before it knows what moved since, and that settlements did not; where that is on or before its day, the days tell.
    private DateOnly? MovedAfter(CountTaken e, LastCount? before) => before is not null && !(before.MovedSince <= e.OccurredOn) ? before.MovedSince
        : Days.GetValueOrDefault(new Place(e.Compartment, e.Holding), DailyBalances.Empty).FirstAfter(e.OccurredOn);

    private CountRound? RoundWith(string compartment) => CountRounds.IsEmpty ? null : CountRounds.Values.FirstOrDefault(round => round.Find(compartment) is not null);

    private Book InRound(long round, string compartment, Func<RoundCompartment, RoundCompartment> change) =>
        this with { CountRounds = CountRounds.SetItem(round, CountRounds[round].With(compartment, change)) };

    private Book Noted(string compartment, MovedMeanwhile moved) => RoundWith(compartment) is { } round ? InRound(round.Id, compartment, counted => counted.Note(moved)) : this;

    private Book Confirmed(CountsConfirmed e) =>
        e.Counts.Aggregate(this, (book, c) => book.InRound(e.Round, c.Compartment, counted => counted with { Count = counted.Count! with { ConfirmedBy = e.By } }));

    private Book Exchanged(NotesExchanged e) => e.About.Aggregate(
        With(Exchanged(e.Compartment, e, e.Gives, e.Takes)).With(Exchanged(e.With, e, e.Takes, e.Gives)) with { HasAmounts = true },
        (book, compartment) => book.Noted(compartment, new MovedMeanwhile(Line + 1, e.OccurredOn, Money.Zero, null)));

    private Compartment Exchanged(string id, NotesExchanged e, ImmutableArray<Pieces> gone, ImmutableArray<Pieces> come)
    {
        var compartment = Compartments[id];
        return compartment with
        {
            Notes = compartment.Notes is { } known && e.OccurredOn >= known.CountedOn ? known.After(gone, come) : compartment.Notes,
            ExchangedOn = compartment.ExchangedOn > e.OccurredOn ? compartment.ExchangedOn : e.OccurredOn,
        };
    }

    internal Book Move(IMovement movement)
    {
        var compartments = Compartments;
        var days = Days;
        var noted = this;
        var statement = BankStatement;
        var day = movement.Corrects?.ClosedDay ?? movement.OccurredOn;
        var origin = movement.Corrects is { } c ? Corrections.Origin(c.Line) : (long?)null;
        var settles = movement is CountSettled settled ? settled.Count : (movement as Reversed)?.Count;
        foreach (var (place, change) in movement.Postings)
        {
            if (!CountRounds.IsEmpty && place.Holding == Holding.Cash && movement.Kind != MovementKind.Settlement)
            {
                noted = noted.Noted(place.Compartment, new MovedMeanwhile(Line + 1, day, change, origin));
            }

            var compartment = compartments[place.Compartment].Post(place.Holding, change);
            if (compartment.Count(place.Holding) is { } count)
            {
                // What an earlier count found to be over or short, this one found too.
                var shouldHaveFound = settles is { } of ? of != count.Line : LastCount.ShouldHaveFound(count.OccurredOn, count.AtLine, day, origin);
                compartment = shouldHaveFound ? compartment.WithCount(place.Holding, count.Learn(change))
                    // To agree on an over or short moves no note.
                    : movement.Kind == MovementKind.Settlement ? compartment
                    : compartment.MovedSinceCount(place.Holding, day);
            }

            compartments = compartments.SetItem(place.Compartment, compartment);
            statement = place.Holding == Holding.Bank ? statement?.After(day, origin, change) : statement;
            days = days.SetItem(place, days.GetValueOrDefault(place, DailyBalances.Empty).Post(movement.OccurredOn, change));
        }

        var corrections = movement.Corrects is { } corrected ? Corrections.With(Line + 1, corrected.Line, undoes: movement is Reversed) : Corrections;
        var late = settles is null && movement.Corrects?.ClosedDay is null ? LateCorrections : LateCorrections.AddRange(LateCorrection.Of(Line + 1, movement, CountedOn(movement)));
        var handovers = Handovers.IsEmpty ? Handovers : Handovers.After(movement, Line + 1, origin ?? Line + 1);
        return noted with
        {
            Line = Line + 1, Compartments = compartments, Days = days, CameIn = Sweeps.CameIn.After(CameIn, movement), Corrections = corrections, LateCorrections = late,
            Handovers = handovers, BankStatement = statement, HasAmounts = true,
        };
    }

    // The day of the count that a movement settles, or whose settlement it undoes; null when that stood on the very day, or it does neither.
    private DateOnly? CountedOn(IMovement movement) => movement switch
    {
        CountSettled e => Compartments[e.Compartment].Count(e.Holding) is { } count && count.Line == e.Count ? count.OccurredOn : null,
        Reversed { Count: not null } e => LateCorrections.Find(c => c.Line == e.Corrects.Line)?.BelongsTo,
        _ => null,
    };

    private Book Saved(IMovement e, DoneStep step) => Move(e).WithSavingPlan(step.Plan, plan => plan.Do(step));

    private Book SetAside(Transferred e, CountedPieces pieces) => Move(e).WithSetAside(e.From, pieces.Count, values => values.Add(pieces.Value));

    private Book Paid(Spent e, PaidBill paid) => Move(e).WithGoal(paid.Goal, goal => goal.Pay(paid.Due));

    private Book Undo(Reversed e)
    {
        var place = e.Changes[0].Place;
        var book = Move(e);
        book = e.Pays is { } paid ? book.WithGoal(paid.Goal, goal => goal.Unpay(paid.Due)) : book;
        book = e.Step is { } step ? book.WithSavingPlan(step.Plan, plan => plan.Undo(step)) : book;
        book = e.SetsAside is { } pieces ? book.WithSetAside(place, pieces.Count, values => values.Remove(pieces.Value)) : book;
        var compartment = book.Compartments[place.Compartment];
        book = e.Statement is { } statement && BankStatement?.Line == statement ? book with { BankStatement = BankStatement.Opened } : book;
        book = e.Payday is not { } payday ? book
            : e.Early is true ? book with { FillRuns = book.FillRuns.Remove(payday) }
            : book.WithPayday(payday, e.Corrects.Line, PaydayState.Undone);
        return e.Count is { } settled && compartment.Count(place.Holding) is { } count && count.Line == settled
            ? book.With(compartment.WithCount(place.Holding, count.Opened))
            : book;
    }

    // A goal may have been removed since its bill was paid.
    private Book WithGoal(string id, Func<Goal, Goal> change) => Goals.TryGetValue(id, out var goal) ? this with { Goals = Goals.SetItem(id, change(goal)) } : this;

    // Another plan may stand in its stead by now.
    private Book WithSavingPlan(long line, Func<SavingPlan, SavingPlan> change) =>
        SavingPlans.Values.FirstOrDefault(plan => plan.Line == line) is { } plan ? this with { SavingPlans = SavingPlans.SetItem(plan.Compartment, change(plan)) } : this;

    private Book WithPayday(DateOnly payday, long line, PaydayState state) => this with { FillRuns = FillRuns.SetItem(payday, new PaydayMark(line, state)) };

    private Book Ahead(ClockWasAhead e) => this with
    {
        LinesAhead = (LinesAhead ?? []).Add(new LinesAhead(e.FromLine, e.ToLine, Line + 1)),
        // What was undone or left before its day came is as if it had never been tried.
        FillRuns = FillRuns.RemoveRange(FillRuns.Where(run => run.Value.State != PaydayState.Filled && run.Key > e.On && e.IsAbout(run.Value.Line)).Select(run => run.Key)),
    };

    private Book WithSetAside(Place place, long line, Func<ImmutableSortedSet<Money>, ImmutableSortedSet<Money>> change) =>
        Compartments[place.Compartment] is var compartment && compartment.Count(place.Holding) is { } count && count.Line == line
            ? With(compartment.WithCount(place.Holding, count with { SetAside = change(count.SetAside) }))
            : this;

    private Book Settled(CountSettled e)
    {
        var compartment = Compartments[e.Compartment];
        return compartment.Count(e.Holding) is { } count && count.Line == e.Count ? With(compartment.WithCount(e.Holding, count with { Settled = true })) : this;
    }
}
