using System.Collections.Immutable;

namespace CashEvents.Domain.Paydays;

/// <summary>A sinking fund's goal as a household is set up with it.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Goal">What is saved for; its due date is that of the next bill.</param>
public sealed record GoalToSetUp(string Id, AddGoal Goal);

/// <summary>A compartment as a household is set up with it.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Compartment">What is written on it, where it is and what for.</param>
public sealed record CompartmentToSetUp(string Id, OpenCompartment Compartment);

/// <summary>
/// Sets a household up as a whole, in one entry, all or nothing. A part that is null stays as it is. A part that is
/// there is whole: what it does not name is closed, ended or removed. Of the plan, what is not named stays. Where all
/// is so already, nothing is written.
/// </summary>
public sealed record SetUp : ICommand
{
    /// <summary>Name, currency, time zone, week, country and notes.</summary>
    public DescribeHousehold? Household { get; init; }

    /// <summary>Labels of the wallets in use by id, in the order in which they are taken into use.</summary>
    public ImmutableArray<(string Id, string Label)>? Wallets { get; init; }

    /// <summary>The compartments in use, in the order in which they are taken into use.</summary>
    public ImmutableArray<CompartmentToSetUp>? Compartments { get; init; }

    /// <summary>Weekly amounts from some weeks on.</summary>
    public ImmutableArray<SetPlan>? Plan { get; init; }

    /// <summary>Who pays.</summary>
    public ImmutableArray<SetIncomeSource>? IncomeSources { get; init; }

    /// <summary>What leaves the bank by itself.</summary>
    public ImmutableArray<SetStandingPayment>? StandingPayments { get; init; }

    /// <summary>How compartments in use are filled.</summary>
    public ImmutableArray<SetFillRule>? FillRules { get; init; }

    /// <summary>Goals of which a bill is open.</summary>
    public ImmutableArray<GoalToSetUp>? Goals { get; init; }

    /// <summary>How sinking funds are kept; one that is not named is kept in cash.</summary>
    public ImmutableArray<SetFundTerms>? FundTerms { get; init; }

    /// <summary>What is put aside step by step. A plan that is not named stays: steps of it may be done.</summary>
    public ImmutableArray<SetSavingPlan>? SavingPlans { get; init; }

    /// <summary>In which notes compartments would have their money.</summary>
    public ImmutableArray<WishNotes>? NoteWishes { get; init; }

    /// <summary>Where wallets lie; each in one place at most.</summary>
    public ImmutableArray<SetPlace>? Places { get; init; }

    /// <summary>Above which amounts of cash the household would be cautioned.</summary>
    public SetCautionLimits? CautionLimits { get; init; }

    /// <summary>When the program fills by itself; a first day that is over stands for today.</summary>
    public SetAutomaticFills? AutomaticFills { get; init; }

    /// <inheritdoc />
    /// <exception cref="RefusalException">A part can't be so; the field names which.</exception>
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var entry = new Draft(book, today);
        if (Household is not null)
        {
            entry.Add("household", Household);
        }

        Take(Wallets, wallet => TakeWallet(entry, wallet.Id, wallet.Label));
        Take(Compartments, compartment => TakeCompartment(entry, compartment));
        Take(IncomeSources, source => entry.Add($"incomeSources.{source.Id}", source));
        Take(StandingPayments, payment => entry.Add($"standingPayments.{payment.Id}", payment));
        Take(Plan, plan => SetPlan(entry, plan));
        Take(FillRules, rule => entry.Add($"fillRules.{rule.Compartment}", rule));
        Take(Goals, goal => SetGoal(entry, goal));
        Take(FundTerms, terms => entry.Add($"fundTerms.{terms.Compartment}", terms));
        Take(SavingPlans, plan => entry.Add($"savingPlans.{plan.Compartment}", plan, unless: line =>
            entry.After.SavingPlans.GetValueOrDefault(plan.Compartment)?.IsSetBy((SavingPlanSet)line) is true));
        Take(NoteWishes, wishes => entry.Add($"noteWishes.{wishes.Compartment}", wishes));
        MustLieInOne();
        Take(Places, place => entry.Add($"places.{place.Id}", place));
        if (CautionLimits is not null)
        {
            entry.Add("cautionLimits", CautionLimits);
        }

        if (AutomaticFills is not null)
        {
            entry.Add("automaticFills", AutomaticFills with { From = FirstToFill(entry.After, today) });
        }

        LeaveOut(entry);
        return entry;
    }

    private static void Take<T>(ImmutableArray<T>? part, Action<T> take)
    {
        foreach (var one in part ?? [])
        {
            take(one);
        }
    }

    // An id is made from the first label: where it is another's, the label that is meant comes second.
    private static void TakeWallet(Draft entry, string id, string label)
    {
        var path = $"wallets.{id}";
        Slug.Named(id, path);
        if (!entry.After.Wallets.ContainsKey(id))
        {
            entry.Add(path, new OpenWallet(Slug.From(label) == id ? label : id));
        }

        entry.Add(path, new ChangeWallet(id, label, Closed: false));
    }

    private static void TakeCompartment(Draft entry, CompartmentToSetUp one)
    {
        var (path, meant) = ($"compartments.{one.Id}", one.Compartment);
        Slug.Named(one.Id, path);
        if (!entry.After.Compartments.TryGetValue(one.Id, out var known))
        {
            entry.Add(path, Slug.From(meant.Label) == one.Id ? meant : meant with { Label = one.Id });
        }
        else if (known.Purpose != meant.Purpose)
        {
            throw Refusal.Conflict("purpose-fixed",
                $"The money of '{one.Id}' is for something else already, and a purpose does not change: set up another "
                    + "compartment.", $"{path}.purpose");
        }

        entry.Add(path, new ChangeCompartment(one.Id, meant.Label, meant.Wallet, Closed: false));
    }

    // What is planned so already may be in a month that is closed.
    private static void SetPlan(Draft entry, SetPlan plan)
    {
        var path = $"plan.{plan.From}";
        var (book, currency) = (entry.After, entry.After.Currency);
        var week = Week.Read(plan.From, book.Household!.FirstDayOfWeek, path);
        var others = plan.Amounts.Where(amount => !book.Plan.Of(amount.Key).Any(planned =>
            planned.From == week.First && currency.ToDecimal(planned.Amount) == amount.Value)).ToDictionary();
        if (others.Count > 0)
        {
            entry.Add(path, plan with { Amounts = others });
        }
    }

    private static void SetGoal(Draft entry, GoalToSetUp one)
    {
        var (path, meant) = ($"goals.{one.Id}", one.Goal);
        Slug.Named(one.Id, path);
        if (entry.After.Goals.TryGetValue(one.Id, out var known)
            && (known.Compartment != meant.Compartment || (known.Every is not null && meant.Every is null)
                || !known.OpenBills().Any()))
        {
            entry.Add(path, new RemoveGoal(one.Id));
            known = null;
        }

        if (known is null)
        {
            var isNamedSo = Slug.From(meant.Label) == one.Id;
            entry.Add(path, isNamedSo ? meant : meant with { Label = one.Id });
            if (!isNamedSo)
            {
                entry.Add(path, new ChangeGoal(one.Id, meant.Label, null, null, null, null));
            }

            return;
        }

        var currency = entry.After.Currency;
        var amounts = AmountsAhead(known, currency);
        var written = meant.Amounts ?? ImmutableDictionary<DateOnly, decimal>.Empty;
        var same = amounts.Count == written.Count
            && amounts.All(a => written.TryGetValue(a.Key, out var other) && other == a.Value);
        entry.Add(path, new ChangeGoal(one.Id, meant.Label, meant.Amount, meant.Due, meant.Every,
            same ? null : written));
    }

    /// <summary>Other amounts of a goal's bills from the next open one on, in major units.</summary>
    public static IReadOnlyDictionary<DateOnly, decimal> AmountsAhead(Goal goal, Currency currency)
    {
        ArgumentNullException.ThrowIfNull(goal);
        ArgumentNullException.ThrowIfNull(currency);
        return goal.OpenBills().FirstOrDefault() is { } next
            ? goal.Amounts.Where(a => a.Key >= next.Due).ToDictionary(a => a.Key, a => currency.ToDecimal(a.Value))
            : new Dictionary<DateOnly, decimal>();
    }

    private void MustLieInOne()
    {
        var named = (Places ?? []).SelectMany(place =>
            place.Wallets.Select((wallet, i) => (Wallet: wallet, Field: $"places.{place.Id}.wallets[{i}]")));
        if (named.GroupBy(n => n.Wallet).FirstOrDefault(n => n.Count() > 1) is { } twice)
        {
            throw Refusal.Unfit(twice.Last().Field, "wallet-twice",
                $"'{twice.Key}' would lie in two places: name it in one.");
        }
    }

    // A file is kept for years and copied: what was filled before is none of this book's matter.
    private DateOnly FirstToFill(Book book, DateOnly today) =>
        AutomaticFills!.From >= today ? AutomaticFills.From
        : book.AutomaticFills is { } known && known.From < today ? known.From : today;

    // Last, when nothing needs them any more. What is out of use already stays as it is.
    private void LeaveOut(Draft entry)
    {
        var book = entry.After;
        Drop(NoteWishes, w => w.Compartment, book.AllNoteWishes.Keys.Where(id => !book.Compartments[id].Closed),
            id => entry.Add("noteWishes", new WishNotes(id, null, null, null)));
        Drop(FundTerms, t => t.Compartment, book.FundTerms.Keys.Where(id => !book.Compartments[id].Closed),
            id => entry.Add("fundTerms", new SetFundTerms(id, 0, 0m)));
        Drop(Places, p => p.Id, book.Places.Keys, id => RemovePlace(entry, id));
        Drop(FillRules, r => r.Compartment, book.FillRules.Keys.Where(id => !book.Compartments[id].Closed),
            id => entry.Add("fillRules", new RemoveFillRule(id)));
        Drop(Goals, g => g.Id, book.Goals.Values.Where(g => g.OpenBills().Any()).Select(g => g.Id),
            id => entry.Add("goals", new RemoveGoal(id)));
        Drop(IncomeSources, s => s.Id, book.IncomeSources.Keys,
            id => entry.Add("incomeSources", new EndIncomeSource(id)));
        Drop(StandingPayments, p => p.Id, book.StandingPayments.Keys,
            id => entry.Add("standingPayments", new EndStandingPayment(id)));
        Drop(Compartments, c => c.Id, book.Compartments.Values.Where(c => !c.Closed).Select(c => c.Id),
            id => entry.Add("compartments", new ChangeCompartment(id, null, null, Closed: true)));
        Drop(Wallets, w => w.Id, book.Wallets.Values.Where(w => !w.Closed).Select(w => w.Id),
            id => entry.Add("wallets", new ChangeWallet(id, null, Closed: true)));
    }

    private static void RemovePlace(Draft entry, string id)
    {
        var place = entry.After.Places[id];
        entry.Add("places", new SetPlace(id, place.Label, place.AtHome, []));
        entry.Add("places", new RemovePlace(id));
    }

    private static void Drop<T>(ImmutableArray<T>? part, Func<T, string> id, IEnumerable<string> there,
        Action<string> drop)
    {
        if (part is { } named)
        {
            foreach (var gone in there.Except(named.Select(id)).Order(StringComparer.Ordinal).ToList())
            {
                drop(gone);
            }
        }
    }
}
