using System.Collections.Immutable;
using System.Globalization;
using CashEvents.Domain.Amounts;
using CashEvents.Domain.Cautions;
using CashEvents.Domain.Compartments;
using CashEvents.Domain.Corrections;
using CashEvents.Domain.CountRounds;
using CashEvents.Domain.Counts;
using CashEvents.Domain.Custody;
using CashEvents.Domain.FillRuns;
using CashEvents.Domain.Fills;
using CashEvents.Domain.Households;
using CashEvents.Domain.IncomeSources;
using CashEvents.Domain.Keys;
using CashEvents.Domain.Months;
using CashEvents.Domain.Naming;
using CashEvents.Domain.Notes;
using CashEvents.Domain.Places;
using CashEvents.Domain.Plans;
using CashEvents.Domain.Saving;
using CashEvents.Domain.SinkingFunds;
using CashEvents.Domain.Spends;
using CashEvents.Domain.StandingPayments;
using CashEvents.Domain.Transfers;
using CashEvents.Domain.Wallets;

namespace CashEvents.Domain.Books;

/// <summary>A household's book as its lines leave it. Never changed: applying a line gives the next book.</summary>
public sealed record Book
{
    /// <summary>The book before its first line.</summary>
    public static Book Empty { get; } = new();

    /// <summary>Number of the last line; 0 when there is none.</summary>
    public long Line { get; init; }

    /// <summary>Who owns it; null before the first line.</summary>
    public Household? Household { get; init; }

    /// <summary>Wallets by id.</summary>
    public ImmutableDictionary<string, Wallet> Wallets { get; init; } = ImmutableDictionary<string, Wallet>.Empty;

    /// <summary>Compartments by id, with their balances.</summary>
    public ImmutableDictionary<string, Compartment> Compartments { get; init; } = ImmutableDictionary<string, Compartment>.Empty;

    /// <summary>Keys by name, revoked ones too.</summary>
    public ImmutableDictionary<string, Key> Keys { get; init; } = ImmutableDictionary<string, Key>.Empty;

    /// <summary>Who pays, by id.</summary>
    public ImmutableDictionary<string, IncomeSource> IncomeSources { get; init; } = ImmutableDictionary<string, IncomeSource>.Empty;

    /// <summary>What leaves the bank again and again, by id.</summary>
    public ImmutableDictionary<string, StandingPayment> StandingPayments { get; init; } = ImmutableDictionary<string, StandingPayment>.Empty;

    /// <summary>Closing balances by day of every place that money has been in.</summary>
    public ImmutableDictionary<Place, DailyBalances> Days { get; init; } = ImmutableDictionary<Place, DailyBalances>.Empty;

    /// <summary>Lines that are undone, or stood in the stead of, with the line that did it: each once.</summary>
    public CorrectedLines Corrections { get; init; } = CorrectedLines.None;

    /// <summary>What is planned for spending compartments, week by week.</summary>
    public Plan Plan { get; init; } = Plan.Empty;

    /// <summary>Goals of sinking funds by id.</summary>
    public ImmutableDictionary<string, Goal> Goals { get; init; } = ImmutableDictionary<string, Goal>.Empty;

    /// <summary>How sinking funds are kept, by compartment, where it was said.</summary>
    public ImmutableDictionary<string, FundTerms> FundTerms { get; init; } = ImmutableDictionary<string, FundTerms>.Empty;

    /// <summary>Saving plans by compartment.</summary>
    public ImmutableDictionary<string, SavingPlan> SavingPlans { get; init; } = ImmutableDictionary<string, SavingPlan>.Empty;

    /// <summary>How compartments are filled on paydays, by compartment, where it was said.</summary>
    public ImmutableDictionary<string, FillRule> FillRules { get; init; } = ImmutableDictionary<string, FillRule>.Empty;

    /// <summary>When the program fills by itself; null while it does not.</summary>
    public AutomaticFills? AutomaticFills { get; init; }

    /// <summary>What became of paydays, by bank day, where a run filled or left them.</summary>
    public ImmutableSortedDictionary<DateOnly, PaydayMark> FillRuns { get; init; } = ImmutableSortedDictionary<DateOnly, PaydayMark>.Empty;

    /// <summary>Rounds of counts that are open, by id; a compartment is in one at most.</summary>
    public ImmutableDictionary<long, CountRound> CountRounds { get; init; } = ImmutableDictionary<long, CountRound>.Empty;

    /// <summary>Cash that is carried and not back yet, by compartment: one person at a time carries from each.</summary>
    public ImmutableDictionary<string, Handover> Handovers { get; init; } = ImmutableDictionary<string, Handover>.Empty;

    /// <summary>Where wallets lie, by id.</summary>
    public ImmutableDictionary<string, NamedPlace> Places { get; init; } = ImmutableDictionary<string, NamedPlace>.Empty;

    /// <summary>Above which amounts of cash the household would be cautioned; null when it never said.</summary>
    public CautionLimits? CautionLimits { get; init; }

    /// <summary>The months in which nothing changes any more; null while none is closed.</summary>
    public ClosedMonths? ClosedMonths { get; init; }

    /// <summary>Whether any line carries an amount.</summary>
    public bool HasAmounts { get; init; }

    /// <summary>The lines that a command writes, and the book after them.</summary>
    /// <exception cref="RefusalException">A rule forbids it, or the amounts would add up to more than 64 bits of minor units.</exception>
    public (IReadOnlyList<IBookEvent> Lines, Book After) Decide(ICommand command, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(command);
        try
        {
            var lines = command.Decide(this, today);
            return (lines, lines.Aggregate(this, (book, line) => book.Apply(line)));
        }
        catch (OverflowException)
        {
            throw Refusal.Conflict("too-much", "The amounts of this book would add up to more than it can hold.");
        }
    }

    /// <summary>The book with one more line.</summary>
    public Book Apply(IBookEvent line)
    {
        // Movements, nearly all of the lines, count themselves, so that the book is copied once.
        var after = Write(line);
        return after.Line > Line ? after : after with { Line = Line + 1 };
    }

    private Book Write(IBookEvent line) => line switch
    {
        HouseholdDescribed e => this with
        {
            Household = new Household(e.Name, e.Currency is null ? null : Currency.Of(e.Currency), e.TimeZone, e.FirstDayOfWeek, e.Country),
        },
        WalletOpened e => this with { Wallets = Wallets.Add(e.Wallet, new Wallet(e.Wallet, e.Label, Line + 1)) },
        CompartmentOpened e => With(new Compartment(e.Compartment, e.Label, e.Wallet, e.Purpose, Line + 1)),
        CompartmentRelabelled e => With(Compartments[e.Compartment] with { Label = e.Label }),
        CompartmentMoved e => With(Compartments[e.Compartment] with { Wallet = e.Wallet }),
        CompartmentClosed e => With(Compartments[e.Compartment] with { Closed = true }),
        CompartmentReopened e => With(Compartments[e.Compartment] with { Closed = false }),
        KeyIssued e => this with { Keys = Keys.Add(e.Name, new Key(e.Name, e.Role, e.Movements, e.Hash, Line + 1)) },
        KeyRevoked e => this with { Keys = Keys.SetItem(e.Name, Keys[e.Name] with { Revoked = true }) },
        CountTaken e => Counted(e) with { HasAmounts = true },
        CountSettled e => Move(e).Settled(e),
        Reversed e => Undo(e),
        Filled { Step: { } step } e => Saved(e, step),
        Transferred { SetsAside: { } pieces } e => SetAside(e, pieces),
        Spent { Pays: { } paid } e => Paid(e, paid),
        PaydayFilled e => Move(e).WithPayday(e.Run.Payday, Line + 1, PaydayState.Filled),
        IMovement e => Move(e),
        NotesWished e => With(Compartments[e.Compartment] with { NoteWishes = new NoteWishes(e.Prefer, e.Avoid, e.AtLeast) }),
        NotesExchanged e => Exchanged(e),
        CountRoundOpened e => this with { CountRounds = CountRounds.Add(Line + 1, e.At(Line + 1)) },
        CountsConfirmed e => Confirmed(e),
        CountRoundClosed e => this with { CountRounds = CountRounds.Remove(e.Round) },
        HandedOver e => this with { Handovers = Handovers.Add(e.Compartment, e.At(Line + 1)), HasAmounts = true },
        HandoverReturned e => this with { Handovers = Handovers.Remove(e.Compartment) },
        PlaceSet e => e.On(this),
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
        AutomaticFillsSet e => this with { AutomaticFills = new AutomaticFills(e.At, e.From) },
        AutomaticFillsStopped => this with { AutomaticFills = null },
        PaydayLeft e => WithPayday(e.Payday, Line + 1, PaydayState.Left),
        MonthClosed e => this with { ClosedMonths = ClosedMonths.With(ClosedMonths, e.Month) },
        MonthReopened => this with { ClosedMonths = ClosedMonths!.WithoutLatest },
        _ => throw new ArgumentException($"The book knows no line of the kind {line.GetType().Name}.", nameof(line)),
    };

    private Book With(Compartment compartment) => this with { Compartments = Compartments.SetItem(compartment.Id, compartment) };

    private Book Counted(CountTaken e)
    {
        var atLine = e.InRound?.AtLine ?? Line;
        var compartment = Compartments[e.Compartment].WithCount(e.Holding, new LastCount(Line + 1, e.OccurredOn, e.Expected, e.Counted) { AtLine = atLine });
        if (e.Holding == Holding.Bank)
        {
            return With(compartment);
        }

        var moved = RoundWith(e.Compartment)?.Find(e.Compartment)!.MovedAfter(e.OccurredOn, atLine) is true;
        var book = With(compartment with { Notes = moved ? null : KnownNotes.From(e, Line + 1, LastDayMoved(new Place(e.Compartment, Holding.Cash), DateOnly.MaxValue)) });
        return e.InRound is { } inRound ? book.InRound(inRound.Round, e.Compartment, counted => counted.Counted(new RoundCount(Line + 1, atLine, inRound.By))) : book;
    }

    private CountRound? RoundWith(string compartment) => CountRounds.IsEmpty ? null : CountRounds.Values.FirstOrDefault(round => round.Find(compartment) is not null);

    private Book InRound(long round, string compartment, Func<RoundCompartment, RoundCompartment> change) =>
        this with { CountRounds = CountRounds.SetItem(round, CountRounds[round].With(compartment, change)) };

    private Book Noted(string compartment, MovedMeanwhile moved) => RoundWith(compartment) is { } round ? InRound(round.Id, compartment, counted => counted.Note(moved)) : this;

    private Book Confirmed(CountsConfirmed e) =>
        e.Counts.Aggregate(this, (book, c) => book.InRound(e.Round, c.Compartment, counted => counted with { Count = counted.Count! with { ConfirmedBy = e.By } }));

    private Book Exchanged(NotesExchanged e) => e.About.Aggregate(
        With(Exchanged(e.Compartment, e, e.Gives, e.Takes)).With(Exchanged(e.With, e, e.Takes, e.Gives)) with { HasAmounts = true },
        (book, compartment) => book.Noted(compartment, new MovedMeanwhile(Line + 1, e.OccurredOn, e.OccurredOn, Money.Zero, null)));

    private Compartment Exchanged(string id, NotesExchanged e, ImmutableArray<Pieces> gone, ImmutableArray<Pieces> come)
    {
        var compartment = Compartments[id];
        return compartment.Notes is { } known && e.OccurredOn >= known.CountedOn ? compartment with { Notes = known.After(gone, come) } : compartment;
    }

    private Book Move(IMovement movement)
    {
        var compartments = Compartments;
        var days = Days;
        var noted = this;
        var day = movement.Corrects?.ClosedDay ?? movement.OccurredOn;
        var origin = movement.Corrects is { } c ? Corrections.Origin(c.Line) : (long?)null;
        foreach (var (place, change) in movement.Postings)
        {
            if (!CountRounds.IsEmpty && place.Holding == Holding.Cash && movement.Kind != MovementKind.Settlement)
            {
                noted = noted.Noted(place.Compartment, new MovedMeanwhile(Line + 1, movement.OccurredOn, day, change, origin));
            }

            var compartment = compartments[place.Compartment].Post(place.Holding, change);
            if (compartment.Count(place.Holding) is { } count && LastCount.ShouldHaveFound(count.OccurredOn, count.AtLine, day, origin))
            {
                compartment = compartment.WithCount(place.Holding, count.Learn(change));
            }
            // To agree on an over or short moves no note.
            else if (compartment.Notes is not null && place.Holding == Holding.Cash && movement.Kind != MovementKind.Settlement)
            {
                compartment = compartment with { Notes = null };
            }

            compartments = compartments.SetItem(place.Compartment, compartment);
            days = days.SetItem(place, days.GetValueOrDefault(place, DailyBalances.Empty).Post(movement.OccurredOn, change));
        }

        var corrections = movement.Corrects is { } corrected ? Corrections.With(Line + 1, corrected.Line, undoes: movement is Reversed) : Corrections;
        var handovers = Handovers.IsEmpty ? Handovers : Handovers.After(movement, Compartments, compartments);
        return noted with { Line = Line + 1, Compartments = compartments, Days = days, Corrections = corrections, Handovers = handovers, HasAmounts = true };
    }

    private Book Saved(Filled e, DoneStep step) => Move(e).WithSavingPlan(e.Compartment, plan => plan.Do(step));

    private Book SetAside(Transferred e, CountedPieces pieces) => Move(e).WithSetAside(e.From, pieces.Count, values => values.Add(pieces.Value));

    private Book Paid(Spent e, PaidBill paid) => Move(e).WithGoal(paid.Goal, goal => goal.Pay(paid.Due));

    private Book Undo(Reversed e)
    {
        var place = e.Changes[0].Place;
        var book = Move(e);
        book = e.Pays is { } paid ? book.WithGoal(paid.Goal, goal => goal.Unpay(paid.Due)) : book;
        book = e.Step is { } step ? book.WithSavingPlan(place.Compartment, plan => plan.Undo(step)) : book;
        book = e.SetsAside is { } pieces ? book.WithSetAside(place, pieces.Count, values => values.Remove(pieces.Value)) : book;
        var compartment = book.Compartments[place.Compartment];
        book = e.Payday is { } payday ? book.WithPayday(payday, e.Corrects.Line, PaydayState.Undone) : book;
        return e.Count is { } settled && compartment.Count(place.Holding) is { } count && count.Line == settled
            ? book.With(compartment.WithCount(place.Holding, count.Opened))
            : book;
    }

    // A goal may have been removed since its bill was paid.
    private Book WithGoal(string id, Func<Goal, Goal> change) => Goals.TryGetValue(id, out var goal) ? this with { Goals = Goals.SetItem(id, change(goal)) } : this;

    private Book WithSavingPlan(string compartment, Func<SavingPlan, SavingPlan> change) =>
        SavingPlans.TryGetValue(compartment, out var plan) ? this with { SavingPlans = SavingPlans.SetItem(compartment, change(plan)) } : this;

    private Book WithPayday(DateOnly payday, long line, PaydayState state) => this with { FillRuns = FillRuns.SetItem(payday, new PaydayMark(line, state)) };

    private Book WithSetAside(Place place, long line, Func<ImmutableSortedSet<Money>, ImmutableSortedSet<Money>> change) =>
        Compartments[place.Compartment] is var compartment && compartment.Count(place.Holding) is { } count && count.Line == line
            ? With(compartment.WithCount(place.Holding, count with { SetAside = change(count.SetAside) }))
            : this;

    private Book Settled(CountSettled e)
    {
        var compartment = Compartments[e.Compartment];
        return With(compartment.WithCount(e.Holding, compartment.Count(e.Holding)! with { Settled = true }));
    }

    /// <summary>What can be taken from a place on a day without that or any later day closing below zero.</summary>
    public DayClosing Available(Place place, DateOnly day) => Days.GetValueOrDefault(place, DailyBalances.Empty).LowestFrom(day);

    /// <summary>Balance of a place at the end of a day.</summary>
    public Money BalanceOn(Place place, DateOnly day) => Days.GetValueOrDefault(place, DailyBalances.Empty).On(day);

    /// <summary>The book with the balances that its places held at the end of a day.</summary>
    public Book OnDay(DateOnly day) => this with
    {
        Compartments = Compartments.ToImmutableDictionary(c => c.Key, c => c.Value with
        {
            Cash = BalanceOn(new Place(c.Key, Holding.Cash), day),
            Bank = BalanceOn(new Place(c.Key, Holding.Bank), day),
        }),
    };

    /// <summary>The last day, up to one, on which money moved in a place; null when none did.</summary>
    public DateOnly? LastDayMoved(Place place, DateOnly upTo) => Days.GetValueOrDefault(place, DailyBalances.Empty).LastUpTo(upTo)?.Day;

    /// <summary>The book's currency.</summary>
    /// <exception cref="RefusalException">The household has not named one yet.</exception>
    public Currency Currency => Household?.Currency
        ?? throw Refusal.Conflict("currency-missing", "The household has not named its currency: PUT /api/household with name, currency, timeZone and firstDayOfWeek first.");

    /// <summary>An amount for a sentence.</summary>
    public string Say(Money money) => Household?.Currency?.Say(money) ?? "nothing";

    /// <summary>An amount above zero, exactly as written.</summary>
    /// <exception cref="RefusalException">Not above zero, or not whole in minor units.</exception>
    public Money Amount(decimal written, string field = "amount")
    {
        var amount = Currency.Exactly(written, field);
        return amount > Money.Zero
            ? amount
            : throw Refusal.Unfit(field, "amount-not-positive", $"`{field}` is {written.ToString(CultureInfo.InvariantCulture)}: write an amount above zero, and choose the kind of movement for its direction.");
    }

    /// <summary>A day on which something may have happened; today if none is given.</summary>
    /// <exception cref="RefusalException">After the household's today, or in a closed month.</exception>
    public DateOnly Day(DateOnly? written, DateOnly today)
    {
        var day = written ?? today;
        if (day > today)
        {
            throw Refusal.Unfit("occurredOn", "after-today", $"{day:O} is after the household's today, {today:O}: write what has happened, on the day it did.");
        }

        return !IsClosed(day) ? day
            : throw Refusal.Conflict("month-closed", $"{Month.Of(day)} is closed, and nothing changes in it: date it {ClosedMonths!.Latest.Next.First:O} or later, or reopen the month first.", "occurredOn");
    }

    /// <summary>Whether a day is in a closed month, or before the first of them.</summary>
    public bool IsClosed(DateOnly day) => day <= ClosedMonths?.Latest.Last;

    /// <summary>Today, for what can't be written on the day it belongs to.</summary>
    /// <exception cref="RefusalException">In a closed month itself.</exception>
    internal DateOnly OpenDay(DateOnly today) => !IsClosed(today) ? today
        : throw Refusal.Conflict("month-closed", $"{Month.Of(today)} is closed, so there is no open month to post the correction in: reopen it first.");

    /// <summary>Where a correction of a movement stands: on its day, or today when nothing changes on that day any more, with the day that it belongs to.</summary>
    /// <exception cref="RefusalException">No month is open.</exception>
    internal (DateOnly Day, DateOnly? ClosedDay) DayToCorrect(IMovement movement, DateOnly today) => IsClosed(movement.OccurredOn)
        ? (OpenDay(today), movement.Corrects?.ClosedDay ?? movement.OccurredOn)
        : (movement.OccurredOn, movement.Corrects?.ClosedDay);

    /// <summary>Refuses to correct a line twice.</summary>
    /// <exception cref="RefusalException">It has been corrected; says by which line.</exception>
    internal void MustStand(long line)
    {
        if (Corrections.By(line) is { } by)
        {
            throw Refusal.Conflict("line-corrected", $"Line {line} has been corrected by line {by}, and a line is corrected once: amend line {Corrections.Latest(line)} if it is still not right.");
        }
    }

    /// <summary>A compartment in use, by the name written.</summary>
    /// <exception cref="RefusalException">Unknown or closed.</exception>
    public Compartment OpenCompartment(string written, string field)
    {
        if (!Compartments.TryGetValue(written, out var compartment))
        {
            var near = NearNames.Of(written, Compartments.Values.Where(c => !c.Closed).Select(c => c.Id));
            throw Refusal.Unfit(field, "compartment-unknown", near.Count > 0
                ? $"There is no compartment '{written}'. Did you mean '{near[0]}'?"
                : $"There is no compartment '{written}'. GET /api/compartments lists them.", near);
        }

        if (compartment.Closed)
        {
            var near = NearNames.Of(written, Compartments.Values.Where(c => !c.Closed).Select(c => c.Id));
            throw new RefusalException(new Refusal(RefusalSort.Conflict, "compartment-closed",
                $"'{written}' is closed: reopen it with PATCH /api/compartments/{written} {{\"closed\": false}}{(near.Count > 0 ? $", or did you mean '{near[0]}'?" : ".")}", field)
            { Suggestions = near });
        }

        return compartment;
    }

    /// <summary>A wallet by the name written.</summary>
    /// <exception cref="RefusalException">Unknown.</exception>
    public Wallet WalletNamed(string written, string field)
    {
        if (Wallets.TryGetValue(written, out var wallet))
        {
            return wallet;
        }

        var near = NearNames.Of(written, Wallets.Keys);
        throw Refusal.Unfit(field, "wallet-unknown", near.Count > 0
            ? $"There is no wallet '{written}'. Did you mean '{near[0]}'?"
            : $"There is no wallet '{written}'. GET /api/wallets lists them.", near);
    }

    /// <summary>A round of counts that is open.</summary>
    /// <exception cref="RefusalException">No such round is.</exception>
    internal CountRound OpenCountRound(long id) => CountRounds.TryGetValue(id, out var round) ? round
        : throw Refusal.NotFound("count-round-not-open", $"There is no count round {id} that is open{(CountRounds.IsEmpty ? ": open one with POST /api/count-rounds." : $": {string.Join(", ", CountRounds.Keys.Order())} {(CountRounds.Count == 1 ? "is" : "are")}.")}");

    /// <summary>An id made from a label.</summary>
    /// <exception cref="RefusalException">No letters or digits in it, or taken.</exception>
    internal static string NewId(string label, Func<string, bool> taken, string what)
    {
        var id = Slug.From(label);
        if (id.Length == 0)
        {
            throw Refusal.Unfit("label", "label-without-letters", "The id is made from the label's letters and digits, and it has none: write at least one.");
        }

        return !taken(id) ? id
            : throw Refusal.Conflict($"{what}-taken", $"There is a {what} '{id}' already: choose a label that differs in its letters or digits.", "label");
    }

    /// <summary>Refuses to take more from a place than is there, that day and every day after.</summary>
    /// <param name="place">Where it is taken.</param>
    /// <param name="amount">How much.</param>
    /// <param name="day">The day.</param>
    /// <param name="field">The field at fault.</param>
    /// <param name="covered">The compartment that the amount is to cover, if it is: it can't cover itself, and one other has to cover the whole.</param>
    /// <exception cref="RefusalException">Too little; says what is there and who could cover it.</exception>
    internal void MustHave(Place place, Money amount, DateOnly day, string field, string? covered = null)
    {
        var lowest = Available(place, day);
        if (amount <= lowest.Closing)
        {
            return;
        }

        var missing = amount - lowest.Closing;
        var others = Covers(place, covered is null ? missing : amount, day, covered);
        // Below zero can only be what is left when a line is undone and the right one not yet written.
        var there = lowest.Closing < Money.Zero ? $"Without the line that is corrected the {place} would close {lowest.Day:O} at {Say(lowest.Closing)}"
            : lowest.Day > day ? $"The {place} closes {lowest.Day:O} at {Say(lowest.Closing)}, so no more than that can be taken on {day:O}"
            : $"The {place} holds {Say(lowest.Closing)}";
        throw NotEnough(there, new Shortage(place, lowest.Closing, missing, lowest.Day, others), field);
    }

    /// <summary>Refuses an entry at whose end a place would be below zero at the end of any day; between its lines one may be.</summary>
    /// <param name="entry">Its movements, from this book on.</param>
    /// <param name="what">What is done, to begin the sentence with: <c>Without line 12</c>.</param>
    /// <exception cref="RefusalException">Too little; says when, what would be there and who could cover it.</exception>
    internal void MustHaveAfter(IReadOnlyList<IMovement> entry, string what)
    {
        var after = entry.Aggregate(this, (book, line) => book.Apply(line));
        foreach (var changed in entry.SelectMany(line => line.Postings.Select(p => (p.Place, line.OccurredOn))).GroupBy(p => p.Place))
        {
            var since = changed.Min(p => p.OccurredOn);
            var lowest = after.Available(changed.Key, since);
            if (lowest.Closing < Money.Zero)
            {
                // Who covers does so before the entry, and must not be short after it.
                var others = Covers(changed.Key, -lowest.Closing, since).Intersect(after.Covers(changed.Key, -lowest.Closing, since)).ToList();
                throw NotEnough(
                    $"{what} the {changed.Key} would close {lowest.Day:O} at {Say(lowest.Closing)}", new Shortage(changed.Key, lowest.Closing, -lowest.Closing, lowest.Day, others));
            }
        }
    }

    private List<Cover> Covers(Place place, Money enough, DateOnly day, string? covered = null) =>
    [
        .. Compartments.Values
            .Where(c => !c.Closed && c.Id != place.Compartment && c.Id != covered)
            .Select(c => new Cover(c.Id, Available(place with { Compartment = c.Id }, day).Closing))
            .Where(c => c.Available >= enough)
            .OrderByDescending(c => c.Available).ThenBy(c => c.Compartment, StringComparer.Ordinal)
            .Take(5),
    ];

    private RefusalException NotEnough(string there, Shortage shortage, string? field = null) => new(new Refusal(
        RefusalSort.Conflict, "not-enough",
        $"{there}: {Say(shortage.Missing)} is missing. {(shortage.CouldCover.Count > 0 ? $"'{shortage.CouldCover[0].Compartment}' could cover it." : "No other compartment could cover it.")}", field)
    { Shortage = shortage });
}
