using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

/// <summary>A household set up from a file: what it names is made so, and what a part leaves out goes.</summary>
public class SetUpTests
{
    private static readonly DateOnly _december = new(2026, 12, 15);

    private static readonly AddGoal _hull = new(Boat, "Hull", 240m, _december, "P1Y", null);

    private static SetUp Compartments(params (string Id, OpenCompartment Compartment)[] named) => new()
    {
        Compartments = [.. named.Select(n => new CompartmentToSetUp(n.Id, n.Compartment))],
    };

    private static SetUp Wallets(params (string Id, string Label)[] named) => new() { Wallets = [.. named] };

    private static SetUp Goal(AddGoal goal) => new() { Goals = [new GoalToSetUp("hull", goal)] };

    private static OpenCompartment Open(string label, Purpose purpose, string wallet = "tin") =>
        new(label, wallet, purpose);

    private static SetFillRule Fixed(string compartment, decimal amount) =>
        new(compartment, FillRuleKind.Fixed, amount, null, null, null, null, null);

    private static GoalSet Set(string label = "Hull", decimal amount = 240m, DateOnly? due = null,
        string? every = "P1Y", params (DateOnly Due, decimal Amount)[] amounts) =>
        new("hull", Boat, label, Eur(amount), due ?? _december, every,
            amounts.ToImmutableSortedDictionary(a => a.Due, a => Eur(a.Amount)), Today);

    // In the order in which each needs the one before.
    private static SetUp Whole() => new()
    {
        Household = new DescribeHousehold("Quay", "EUR", "Europe/Dublin", DayOfWeek.Monday),
        Wallets = [("tin", "Tin")],
        Compartments =
        [
            new CompartmentToSetUp("bread", Open("Bread", Purpose.Spending)),
            new CompartmentToSetUp("roof", Open("Roof", Purpose.SinkingFund)),
            new CompartmentToSetUp("trip", Open("Trip", Purpose.Saving)),
        ],
        IncomeSources = [new("office", "Office", new Recurrence("month", Sept(1)), NotBankDay.Previous, 900m)],
        StandingPayments = [new("rent", StandingPaymentKind.FixedBill, "Rent", new Recurrence("month", Sept(1)),
            NotBankDay.Next, 400m)],
        Plan = [new SetPlan("2026-W40", new Dictionary<string, decimal> { ["bread"] = 50m })],
        FillRules = [Fixed("bread", 60m)],
        Goals = [new GoalToSetUp("slates", new AddGoal("roof", "Slates", 240m, _december, null, null))],
        FundTerms = [new SetFundTerms("roof", 50, 0m)],
        SavingPlans = [new SetSavingPlan("trip", 1m, 1m, 10, null, null, Today, "P1W")],
        NoteWishes = [new WishNotes("bread", [10m], null, null)],
        Places = [new SetPlace("attic", "Attic", true, ["tin"])],
        CautionLimits = new SetCautionLimits(200m, null),
        AutomaticFills = new SetAutomaticFills(new TimeOnly(6, 0), Today),
    };

    [Fact]
    public void An_empty_book_is_set_up_whole_each_part_before_those_that_need_it() =>
        GivenBook().When(Whole()).Then(
            new HouseholdDescribed("Quay", "EUR", "Europe/Dublin", DayOfWeek.Monday), new WalletOpened("tin", "Tin"),
            new CompartmentOpened("bread", "Bread", "tin", Purpose.Spending),
            new CompartmentOpened("roof", "Roof", "tin", Purpose.SinkingFund),
            new CompartmentOpened("trip", "Trip", "tin", Purpose.Saving),
            new IncomeSourceSet("office", "Office", "month", Sept(1), NotBankDay.Previous, Eur(900m)),
            new StandingPaymentSet("rent", StandingPaymentKind.FixedBill, "Rent", "month", Sept(1), NotBankDay.Next,
                Eur(400m)),
            new PlanSet(Sept(28), ImmutableSortedDictionary<string, Money>.Empty.Add("bread", Eur(50m))),
            new FillRuleSet("bread", FillRuleKind.Fixed, Eur(60m), null, null, Holding.Cash, 1, null),
            new GoalSet("slates", "roof", "Slates", Eur(240m), _december, null,
                ImmutableSortedDictionary<DateOnly, Money>.Empty, Today),
            new FundTermsSet("roof", 50, 0),
            new SavingPlanSet("trip", new SavingSteps(Eur(1m), Eur(1m), 10, [], null), Today, "P1W"),
            new NotesWished("bread", [Eur(10m)], [], []), new PlaceSet("attic", "Attic", true, ["tin"], Today),
            new CautionLimitsSet(Eur(200m), null), new AutomaticFillsSet(new TimeOnly(6, 0), Today));

    [Fact]
    public void The_same_file_again_changes_nothing() =>
        GivenBook().When(Whole()).ThenWritten().When(Whole()).ThenNothing();

    [Fact]
    public void A_part_that_is_left_out_stays_as_it_is() =>
        GivenBook().When(Whole()).ThenWritten().When(new SetUp()).ThenNothing();

    [Fact]
    public void What_a_part_does_not_name_goes_what_needs_it_before_it()
    {
        var none = new SetUp
        {
            NoteWishes = [],
            FundTerms = [],
            Places = [],
            FillRules = [],
            Goals = [],
            IncomeSources = [],
            StandingPayments = [],
            Compartments = [],
            Wallets = [],
        };

        var bare = GivenBook().When(Whole()).ThenWritten().When(none).Then(
            new NotesWished("bread", [], [], []), new FundTermsSet("roof", 0, 0),
            new PlaceSet("attic", "Attic", true, [], Today), new PlaceRemoved("attic"), new FillRuleRemoved("bread"),
            new GoalRemoved("slates", "roof"), new IncomeSourceEnded("office"), new StandingPaymentEnded("rent"),
            new CompartmentClosed("bread"), new CompartmentClosed("roof"), new CompartmentClosed("trip"),
            new WalletClosed("tin"));

        bare.When(none).ThenNothing();
        // What is closed is taken into use again.
        var again = bare.When(Whole()).ThenWritten().Book;
        Assert.Equal((false, false), (again.Wallets["tin"].Closed, again.Compartments["bread"].Closed));
    }

    // What belongs to a compartment that is out of use stays with it; a goal that is paid is no longer saved for.
    [Fact]
    public void What_is_out_of_use_already_stays_as_it_is() =>
        Given(new NotesWished(Ferry, [Eur(10m)], [], []), new FundTermsSet(Boat, 50, 0),
            new FillRuleSet(Ferry, FillRuleKind.Weekly, null, null, null, Holding.Cash, 1, null),
            new CompartmentClosed(Ferry), new CompartmentClosed(Boat))
            .When(new SetUp { NoteWishes = [], FundTerms = [], FillRules = [] }).ThenNothing();

    [Fact]
    public void An_id_that_its_label_does_not_make_is_had_all_the_same()
    {
        Given().When(Wallets(("pouch", "Oilskin bag"), ("market-bag", "Market bag"), ("strongbox", "Strongbox")))
            .Then(new WalletOpened("pouch", "pouch"), new WalletRelabelled("pouch", "Oilskin bag"));
        var named = GivenBook(new HouseholdDescribed("Quay", "EUR", "Europe/Dublin", DayOfWeek.Monday),
            new WalletOpened("tin", "Tin")).When(Compartments(("bread", Open("Loaves", Purpose.Spending)))).Then(
            new CompartmentOpened("bread", "bread", "tin", Purpose.Spending),
            new CompartmentRelabelled("bread", "Loaves"));
        named.When(Compartments(("bread", Open("Loaves", Purpose.Spending)))).ThenNothing();
        Given().When(Goal(_hull with { Label = "New hull" })).Then(Set(label: "hull"), Set(label: "New hull"));
    }

    [Fact]
    public void A_purpose_does_not_change() => Given().Refuses(
        (Compartments((Ferry, new OpenCompartment("Ferry fares", "market-bag", Purpose.Saving))), "purpose-fixed",
            "compartments.ferry-fares.purpose",
            "The money of 'ferry-fares' is for something else already, and a purpose does not change: set up another "
                + "compartment."));

    [Fact]
    public void A_wallet_lies_in_one_place() => Given().Refuses(
        (new SetUp
        {
            Places = [new("attic", "Attic", true, ["strongbox"]), new("shed", "Shed", false, ["market-bag",
                "strongbox"])]
        }, "wallet-twice", "places.shed.wallets[1]", "'strongbox' would lie in two places: name it in one."));

    // The field says where in the file; what is not found is a fault of the file.
    [Fact]
    public void What_cannot_be_is_told_by_its_place_in_the_file() => Given().Refuses(
        (new SetUp { Household = new DescribeHousehold("Quay", "EURO", "Europe/Dublin", DayOfWeek.Monday) },
            "currency-unknown", "household.currency",
            "'EURO' is no ISO 4217 currency code: write one such as EUR or USD."),
        (Wallets(("Tin can", "Tin can")), "id-unreadable", "wallets.Tin can",
            "'Tin can' is no id: write small letters and digits with single hyphens between, such as 'tin-can'."),
        (Compartments(("!", Open("Oars", Purpose.Saving))), "id-unreadable", "compartments.!",
            "'!' is no id: write small letters and digits with single hyphens between, such as 'harbour-office'."),
        (Compartments(("oars", Open("Oars", Purpose.Saving))), "wallet-unknown", "compartments.oars.wallet",
            "There is no wallet 'tin'. <ListWallets> lists them."),
        (Wallets(("strongbox", "Strongbox")), "wallet-not-empty", "wallets.closed",
            "ferry-fares, market-days are in 'market-bag': move them to another wallet or close them with "
                + "<ChangeCompartment>, then close the wallet."),
        (new SetUp { Goals = [new GoalToSetUp("Hull!", _hull)] }, "id-unreadable", "goals.Hull!",
            "'Hull!' is no id: write small letters and digits with single hyphens between, such as 'hull'."),
        (new SetUp { IncomeSources = [new("office", "", new Recurrence("month", Today), NotBankDay.Next, null)] },
            "words-missing", "incomeSources.office.label", "`label` is needed: write a few words."),
        (new SetUp
        {
            StandingPayments = [new("rent", StandingPaymentKind.FixedBill, "Rent",
            new Recurrence("month", Today), NotBankDay.Next, 0m)]
        }, "amount-not-positive",
            "standingPayments.rent.amount",
            "`amount` is 0: write an amount above zero, and choose the kind of movement for its direction."),
        (new SetUp { FillRules = [new("oars", FillRuleKind.Weekly, null, null, null, null, null, null)] },
            "compartment-unknown", "fillRules.oars.compartment",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
        (new SetUp { Plan = [new SetPlan("2026-W99", new Dictionary<string, decimal> { [Ferry] = 1m })] },
            "week-unknown", "plan.2026-W99",
            "By ISO 8601 the year 2026 has the weeks 2026-W01 to 2026-W53: 2026-W99 is none of them."),
        (new SetUp { Plan = [new SetPlan("2026-W40", new Dictionary<string, decimal> { [Ferry] = -1m })] },
            "amount-negative", "plan.2026-W40.amounts.ferry-fares",
            "`amounts.ferry-fares` is -1: a weekly amount is zero or more."),
        (new SetUp { FundTerms = [new SetFundTerms(Boat, 101, 0m)] }, "percent-out-of-range",
            "fundTerms.boat-insurance.bankPercent",
            "`bankPercent` is how much of each contribution goes to the bank: a whole number from 0 to 100."),
        (new SetUp { SavingPlans = [new SetSavingPlan(Van, 1m, null, 0, null, null, null, null)] },
            "steps-out-of-range", "savingPlans.bakery-van.count", "`count` is the number of steps, 1 to 400."),
        (new SetUp { NoteWishes = [new WishNotes(Ferry, [3m], null, null)] }, "denomination-unknown",
            "noteWishes.ferry-fares.prefer[0]",
            "EUR has no note or coin of '3'. It has 500, 200, 100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, "
                + "0.01."),
        (new SetUp { Places = [new("attic", "", true, [])] }, "words-missing", "places.attic.label",
            "`label` is needed: write a few words."),
        (new SetUp { CautionLimits = new SetCautionLimits(0m, null) }, "amount-not-positive",
            "cautionLimits.cashAtHome",
            "`cashAtHome` is 0: write an amount above zero, and choose the kind of movement for its direction."),
        (new SetUp { AutomaticFills = new SetAutomaticFills(new TimeOnly(6, 0), Today) { DaysAfter = 28 } },
            "days-out-of-range", "automaticFills.daysAfter",
            "`daysAfter` is how many days after a payday it is filled, 0 to 27."));

    // A plan of a closed month that stands so already is no reason to refuse the file.
    [Fact]
    public void What_is_planned_so_already_may_lie_in_a_closed_month()
    {
        var august = new DateOnly(2026, 8, 24);
        var given = Given(new PlanSet(august, ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, Eur(20m))),
            new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], ""));
        SetUp Planned(string week, decimal amount) => new()
        {
            Plan = [new SetPlan(week, new Dictionary<string, decimal> { [Ferry] = amount })],
        };

        given.When(Planned("2026-W35", 20m)).ThenNothing();
        given.When(Planned("2026-W35", 21m)).ThenRefused("month-closed", "plan.2026-W35.from");
        given.When(Planned("2026-W39", 20m)).ThenWritten();
    }

    [Fact]
    public void A_goal_is_changed_where_it_differs()
    {
        var known = Given().When(Goal(_hull)).Then(Set());

        known.When(Goal(_hull with { Amount = 250m })).Then(Set(amount: 250m));
        known.When(Goal(_hull with { Every = "P6M" })).Then(Set(every: "P6M"));
        var later = new DateOnly(2027, 12, 15);
        var listed = known.When(Goal(_hull with { Amounts = new Dictionary<DateOnly, decimal> { [later] = 260m } }))
            .Then(Set(amounts: (later, 260m)));
        listed.When(Goal(_hull with { Amounts = new Dictionary<DateOnly, decimal> { [later] = 260m } })).ThenNothing();
        listed.When(Goal(_hull with { Amounts = new Dictionary<DateOnly, decimal> { [later] = 270m } }))
            .Then(Set(amounts: (later, 270m)));
        listed.When(Goal(_hull)).Then(Set());
    }

    // A goal that lies elsewhere, that comes but once from now on or that is paid is another goal of the same name.
    [Fact]
    public void A_goal_that_is_another_takes_the_place_of_the_one_before()
    {
        var known = Given(new CompartmentOpened("oars", "Oars", "strongbox", Purpose.SinkingFund),
            Fill(Boat, 500m, Sept(1))).When(Goal(_hull)).Then(Set());

        known.When(Goal(_hull with { Every = null })).Then(new GoalRemoved("hull", Boat), Set(every: null));
        known.When(Goal(_hull with { Compartment = "oars" }))
            .Then(new GoalRemoved("hull", Boat), Set() with { Compartment = "oars" });
        var paid = Given(Fill(Boat, 500m, Sept(1)), Set(every: null))
            .When(new RecordSpend(Boat, Holding.Cash, 240m, null, "", Goal: "hull")).ThenWritten();
        paid.When(Goal(_hull with { Every = null })).Then(new GoalRemoved("hull", Boat), Set(every: null));
        paid.When(new SetUp { Goals = [] }).ThenNothing();
    }

    [Fact]
    public void The_amounts_of_bills_to_come_are_read_back_those_that_are_paid_are_not()
    {
        var next = new DateOnly(2027, 12, 15);
        var goal = new Goal("hull", Boat, "Hull", Eur(240m), _december, "P1Y",
            ImmutableSortedDictionary<DateOnly, Money>.Empty.Add(_december, Eur(250m)).Add(next, Eur(260m)), Today, 9);

        Assert.Equal([(_december, 250m), (next, 260m)], Ahead(goal));
        Assert.Equal([(next, 260m)], Ahead(goal with { Paid = 1 }));
        Assert.Empty(Ahead(goal with { Every = null, Paid = 1 }));
    }

    private static IEnumerable<(DateOnly, decimal)> Ahead(Goal goal) =>
        SetUp.AmountsAhead(goal, Currency.Of("EUR")).OrderBy(a => a.Key).Select(a => (a.Key, a.Value));

    // A file is kept for years: from today on, or from when the book's own automatic fills began.
    [Fact]
    public void Paydays_are_filled_from_today_on_or_as_long_as_they_have_been()
    {
        SetUp From(DateOnly day) => new() { AutomaticFills = new SetAutomaticFills(new TimeOnly(6, 0), day) };

        Given().When(From(Sept(1))).Then(new AutomaticFillsSet(new TimeOnly(6, 0), Today));
        Given().When(From(Today)).Then(new AutomaticFillsSet(new TimeOnly(6, 0), Today));
        Given().When(From(Sept(30))).Then(new AutomaticFillsSet(new TimeOnly(6, 0), Sept(30)));
        Given(new AutomaticFillsSet(new TimeOnly(7, 0), Sept(10))).When(From(Sept(1)))
            .Then(new AutomaticFillsSet(new TimeOnly(6, 0), Sept(10)));
        Given(new AutomaticFillsSet(new TimeOnly(6, 0), Sept(30))).When(From(Sept(1)))
            .Then(new AutomaticFillsSet(new TimeOnly(6, 0), Today));
    }
}
