using System.Collections.Immutable;
using System.Globalization;
using Microsoft.AspNetCore.Http.HttpResults;

namespace CashEvents.Api.Households;

/// <summary>
/// A household as it is set up, as a file to keep and to copy: each part in the form in which it is sent by itself,
/// under its id. A part that is left out stays as it is.
/// </summary>
/// <param name="Household">Who owns the book.</param>
/// <param name="Wallets">The wallets in use by id.</param>
/// <param name="Compartments">The compartments in use by id.</param>
/// <param name="Plan">Weekly amounts by the first week that they hold for, then by compartment.</param>
/// <param name="IncomeSources">Who pays, by id.</param>
/// <param name="StandingPayments">What leaves the bank by itself, by id.</param>
/// <param name="FillRules">How compartments are filled on paydays, by compartment.</param>
/// <param name="Goals">What sinking funds save for, by id; <c>due</c> is that of the next bill.</param>
public sealed record SetUpRequest(
    HouseholdRequest? Household,
    IReadOnlyDictionary<string, WalletRequest>? Wallets,
    IReadOnlyDictionary<string, CompartmentRequest>? Compartments,
    IReadOnlyDictionary<string, IReadOnlyDictionary<string, decimal>>? Plan,
    IReadOnlyDictionary<string, IncomeSourceRequest>? IncomeSources,
    IReadOnlyDictionary<string, StandingPaymentRequest>? StandingPayments,
    IReadOnlyDictionary<string, FillRuleRequest>? FillRules,
    IReadOnlyDictionary<string, GoalRequest>? Goals)
{
    /// <summary>How sinking funds are kept, by compartment; one that is not named is kept in cash.</summary>
    public IReadOnlyDictionary<string, FundTermsRequest>? FundTerms { get; init; }

    /// <summary>Saving plans by compartment; one that is not named stays.</summary>
    public IReadOnlyDictionary<string, SavingPlanRequest>? SavingPlans { get; init; }

    /// <summary>In which notes compartments would have their money, by compartment.</summary>
    public IReadOnlyDictionary<string, NoteWishesRequest>? NoteWishes { get; init; }

    /// <summary>Where wallets lie, by the place's id; each in one at most.</summary>
    public IReadOnlyDictionary<string, PlaceRequest>? Places { get; init; }

    /// <summary>Above which amounts of cash the household would be cautioned.</summary>
    public CautionLimitsRequest? CautionLimits { get; init; }

    /// <summary>When the program fills by itself; a <c>from</c> that is over stands for today.</summary>
    public AutomaticFillsRequest? AutomaticFills { get; init; }

    internal SetUp ToCommand() => new()
    {
        Household = Household?.ToCommand(),
        Wallets = Wallets?.Select(w => (w.Key, w.Value.Label!)).ToImmutableArray(),
        Compartments = Compartments?.Select(c => new CompartmentToSetUp(c.Key,
            new OpenCompartment(c.Value.Label!, c.Value.Wallet!, c.Value.Purpose!.Value))).ToImmutableArray(),
        Plan = Plan?.Select(p => new SetPlan(p.Key, p.Value)).ToImmutableArray(),
        IncomeSources = IncomeSources?.Select(s => At($"incomeSources.{s.Key}", () => s.Value.ToCommand(s.Key)))
            .ToImmutableArray(),
        StandingPayments = StandingPayments?
            .Select(p => At($"standingPayments.{p.Key}", () => p.Value.ToCommand(p.Key))).ToImmutableArray(),
        FillRules = FillRules?.Select(r => r.Value.ToCommand(r.Key)).ToImmutableArray(),
        Goals = Goals?.Select(g => new GoalToSetUp(g.Key, g.Value.ToCommand())).ToImmutableArray(),
        FundTerms = FundTerms?.Select(t => t.Value.ToCommand(t.Key)).ToImmutableArray(),
        SavingPlans = SavingPlans?.Select(p => p.Value.ToCommand(p.Key)).ToImmutableArray(),
        NoteWishes = NoteWishes?.Select(w => w.Value.ToCommand(w.Key)).ToImmutableArray(),
        Places = Places?.Select(p => p.Value.ToCommand(p.Key)).ToImmutableArray(),
        CautionLimits = CautionLimits?.ToCommand(),
        AutomaticFills = AutomaticFills?.ToCommand(),
    };

    /// <summary>How a household is set up.</summary>
    /// <param name="book">Its book, with the plan.</param>
    /// <param name="today">The household's date: of the plan, what holds then and later is told.</param>
    internal static SetUpRequest Of(Book book, DateOnly today)
    {
        var household = book.Household!;
        if (household.Currency is not { } currency)
        {
            return new SetUpRequest(null, null, null, null, null, null, null, null);
        }

        decimal? Say(Money? money) => money is { } amount ? currency.ToDecimal(amount) : null;
        var compartments = book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line).ToList();
        return new SetUpRequest(
            new HouseholdRequest(household.Name, currency.Code, household.TimeZone, household.FirstDayOfWeek,
                household.Country, Say(household.SmallestNote), Say(household.LargestNote)),
            book.Wallets.Values.Where(w => !w.Closed).OrderBy(w => w.Line)
                .ToDictionary(w => w.Id, w => new WalletRequest(w.Label)),
            compartments.ToDictionary(c => c.Id, c => new CompartmentRequest(c.Label, c.Wallet, c.Purpose)),
            PlanFrom(book, compartments, Week.Of(today, household.FirstDayOfWeek)),
            book.IncomeSources.Values.OrderBy(s => s.Id, StringComparer.Ordinal).ToDictionary(s => s.Id,
                s => new IncomeSourceRequest(s.Label, s.Recurrence.Rule, s.Recurrence.First, s.NotBankDay,
                    Say(s.Amount))),
            book.StandingPayments.Values.OrderBy(p => p.Id, StringComparer.Ordinal).ToDictionary(p => p.Id,
                p => new StandingPaymentRequest(p.Kind, p.Label, p.Recurrence.Rule, p.Recurrence.First, p.NotBankDay,
                    Say(p.Amount))),
            compartments.Where(c => book.FillRules.ContainsKey(c.Id)).ToDictionary(c => c.Id,
                c => RuleOf(book.FillRules[c.Id], Say)),
            book.Goals.Values.OrderBy(g => g.Line).Where(g => g.OpenBills().Any()).ToDictionary(g => g.Id, g =>
                new GoalRequest(g.Compartment, g.Label, Say(g.Amount), g.OpenBills().First().Due, g.Every,
                    SetUp.AmountsAhead(g, currency) is { Count: > 0 } amounts ? amounts : null)))
        {
            FundTerms = Of(book.FundTerms, terms => terms == Domain.Plans.FundTerms.Cash ? null
                : new FundTermsRequest(terms.BankPercent,
                    terms.InterestBasisPoints == 0 ? null : terms.InterestBasisPoints / 100m)),
            SavingPlans = Of(book.SavingPlans, plan => new SavingPlanRequest(
                plan.Steps.Listed.IsDefaultOrEmpty ? Say(plan.Steps.First) : null,
                plan.Steps.Growth > Money.Zero ? Say(plan.Steps.Growth) : null,
                plan.Steps.Listed.IsDefaultOrEmpty ? plan.Steps.Count : null,
                plan.Steps.Listed.IsDefaultOrEmpty ? null : [.. plan.Steps.Listed.Select(currency.ToDecimal)],
                plan.Steps.Seed, plan.From, plan.Every)),
            NoteWishes = Of(book.AllNoteWishes, wishes => WishesOf(wishes, currency)),
            Places = book.Places.Values.OrderBy(p => p.Id, StringComparer.Ordinal).ToDictionary(p => p.Id,
                p => new PlaceRequest(p.Label, [.. book.Wallets.Values.Where(w => w.LiesIn?.Place == p.Id)
                    .OrderBy(w => w.Line).Select(w => w.Id)], p.AtHome)),
            CautionLimits = book.CautionLimits is { } limits
                ? new CautionLimitsRequest(Say(limits.CashAtHome), Say(limits.Carried)) : null,
            AutomaticFills = book.AutomaticFills is { } fills
                ? new AutomaticFillsRequest(AutomaticFillsAnswer.Say(fills.At), fills.From, fills.DaysAfter) : null,
        };

        Dictionary<string, TSent> Of<TKept, TSent>(IReadOnlyDictionary<string, TKept> kept, Func<TKept, TSent?> say)
            where TSent : class => compartments.Where(c => kept.ContainsKey(c.Id))
                .Select(c => (c.Id, Sent: say(kept[c.Id]))).Where(c => c.Sent is not null)
                .ToDictionary(c => c.Id, c => c.Sent!);
    }

    private static NoteWishesRequest? WishesOf(NoteWishes wishes, Currency currency) =>
        wishes.Prefer.IsEmpty && wishes.Avoid.IsEmpty && wishes.AtLeast.IsEmpty ? null
            : new NoteWishesRequest(Values(wishes.Prefer, currency), Values(wishes.Avoid, currency),
                wishes.AtLeast.IsEmpty ? null : wishes.AtLeast.ToDictionary(
                    p => currency.ToDecimal(p.Value).ToString(CultureInfo.InvariantCulture), p => (long)p.Count));

    private static decimal[]? Values(ImmutableArray<Money> values, Currency currency) =>
        values.IsEmpty ? null : [.. values.Select(currency.ToDecimal)];

    private static FillRuleRequest RuleOf(FillRule rule, Func<Money?, decimal?> say) => new(rule.Kind, say(rule.Amount),
        rule.ShareBasisPoints / 100m, say(rule.Ceiling),
        rule.Kind == FillRuleKind.Contribution ? null : rule.Holding, rule.Rank, say(rule.RoundTo));

    private static Dictionary<string, IReadOnlyDictionary<string, decimal>> PlanFrom(Book book,
        IEnumerable<Compartment> compartments, Week week) =>
        compartments.SelectMany(c => book.Plan.Of(c.Id)
                .Where(a => a.From >= (book.Plan.For(c.Id, week.First)?.From ?? week.First))
                .Select(a => (Compartment: c.Id, Planned: a)))
            .GroupBy(a => a.Planned.From).OrderBy(g => g.Key)
            .ToDictionary(g => new Week(g.Key).ToString(),
                IReadOnlyDictionary<string, decimal> (g) => g.ToDictionary(a => a.Compartment,
                    a => book.Currency.ToDecimal(a.Planned.Amount)));

    private static T At<T>(string path, Func<T> read)
    {
        try
        {
            return read();
        }
        catch (RefusalException refused)
        {
            throw new RefusalException(refused.Refusal.Within(path));
        }
    }
}

/// <summary>What setting a household up wrote, or would write.</summary>
/// <param name="Lines">Numbers of the lines written; none in a dry run, or if there was nothing to write.</param>
/// <param name="EntryId">Their entry.</param>
public sealed record SetUpAnswer(IReadOnlyList<long> Lines, long? EntryId)
{
    /// <summary>In a dry run: the lines that would be written.</summary>
    public IReadOnlyList<LineAnswer>? WouldWrite { get; init; }

    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class SetUpEndpoints : IEndpoints
{
    private const string File = """
        {"household": {"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "monday"},
         "wallets": {"oilskin-wallet": {"label": "Oilskin wallet"}, "desk-drawer": {"label": "Desk drawer"}},
         "compartments": {
           "ferry-fares": {"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"},
           "boat-insurance": {"label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund"}},
         "plan": {"2026-W44": {"ferry-fares": 25.00}},
         "incomeSources": {"harbour-office": {"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400.00}},
         "standingPayments": {"quay-rent": {"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640.00}},
         "fillRules": {"ferry-fares": {"kind": "weekly", "holding": "cash", "rank": 2, "roundTo": 5.00}, "boat-insurance": {"kind": "contribution", "rank": 1}},
         "goals": {"hull-insurance": {"compartment": "boat-insurance", "label": "Hull insurance", "amount": 480.00, "due": "2027-04-01", "every": "P1Y"}},
         "fundTerms": {"boat-insurance": {"bankPercent": 60}},
         "places": {"kitchen-safe": {"label": "Kitchen safe", "wallets": ["desk-drawer"], "atHome": true}}}
        """;

    public static void Map(IEndpointRouteBuilder api)
    {
        MapReading(api);
        MapSetting(api);
    }

    private static void MapReading(IEndpointRouteBuilder api) => api
        .MapGet("/set-up", async (HttpContext http, Caller caller, FillRunReader books, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(SetUpRequest.Of(book, book.Household!.DateAt(clock.GetUtcNow())));
        })
        .Produces<SetUpRequest>()
        .RefusesReads()
        .WithSummary("How the household is set up, as a file to keep and to copy")
        .WithDescription("What is in use and what is to come. Sent back with PUT it changes nothing. Of the plan, it "
            + "has what holds now and later. Keys are not in it, nor which steps of saving plans are done.")
        .WithExample(null, File);

    private static void MapSetting(IEndpointRouteBuilder api) => api
        .MapPut("/set-up", async (HttpContext http, Caller caller, string? dryRun, WriteDesk desk,
            FillRunReader books, TimeProvider clock) =>
        {
            caller.MustKeep();
            var sent = await Body<SetUpRequest>.ReadAsync(http, "dryRun").ConfigureAwait(false);
            Check(http.RequestServices, sent);
            var command = sent.ToCommand();
            if (Reads.OneOf(dryRun, "dryRun", ["true", "false"]) == "true")
            {
                return await RehearseAsync(http, caller, command, books, clock).ConfigureAwait(false);
            }

            var (entry, _) = await desk.WriteAsync(http, command, "set-up", sent).ConfigureAwait(false);
            return TypedResults.Ok(new SetUpAnswer(entry.Lines, entry.Id)
            {
                Note = entry.Lines.IsEmpty ? "It is set up like this already. Nothing was written." : null,
            });
        })
        .Accepts<SetUpRequest>("application/json")
        .Produces<SetUpAnswer>()
        .RefusesWrites()
        .WithSummary("Set a household up as a whole, all or nothing; with a dry run")
        .WithDescription("Each part has the form in which it is sent by itself, under its id. A part that is left out "
            + "stays as it is. What a part does not name is closed, ended or removed; plans stay. A "
            + "compartment has to be empty for that. All of it is one entry. With `dryRun=true` nothing is written, "
            + "and `wouldWrite` tells the lines.")
        .WithParameter("dryRun", "`true` only tells what would be written.", "true",
            ParameterForm.YesOrNo)
        .WithExample(File, """{"lines": [62, 63, 64], "entryId": 62}""")
        .NotToTry("it would close what other examples are about.");

    // Each part as it would be checked by itself, with its faults named from the file.
    private static void Check(IServiceProvider services, SetUpRequest sent)
    {
        var plan = sent.Plan?.ToDictionary(p => p.Key,
            p => (object?)(p.Value is null ? null : new PlanRequest(p.Key, p.Value)));
        foreach (var (path, one) in All("household", sent.Household).Concat(Under("wallets", sent.Wallets))
            .Concat(Under("compartments", sent.Compartments)).Concat(Under("plan", plan))
            .Concat(Under("incomeSources", sent.IncomeSources)).Concat(Under("standingPayments", sent.StandingPayments))
            .Concat(Under("fillRules", sent.FillRules)).Concat(Under("goals", sent.Goals))
            .Concat(Under("fundTerms", sent.FundTerms)).Concat(Under("savingPlans", sent.SavingPlans))
            .Concat(Under("noteWishes", sent.NoteWishes)).Concat(Under("places", sent.Places))
            .Concat(All("cautionLimits", sent.CautionLimits)).Concat(All("automaticFills", sent.AutomaticFills)))
        {
            var said = one
                ?? throw new MalformedException(path, $"`{path}` is `null`: leave it out, or say what it is.");
            Validation.CheckWithin(services, said, path);
        }

        static IEnumerable<(string, object?)> All(string path, object? one) => one is null ? [] : [(path, one)];

        static IEnumerable<(string, object?)> Under<T>(string part, IReadOnlyDictionary<string, T>? named)
            where T : class? => named?.Select(n => ($"{part}.{n.Key}", (object?)n.Value)) ?? [];
    }

    private static async Task<Ok<SetUpAnswer>> RehearseAsync(HttpContext http,
        Caller caller, SetUp command, FillRunReader books, TimeProvider clock)
    {
        var book = await books.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        WriteDesk.MustStandAsMatched(http, book);
        var now = clock.GetUtcNow();
        var (lines, after) = book.Decide(command, book.Household!.DateAt(now));
        Answers.StampLine(http, book.Line);
        return TypedResults.Ok(new SetUpAnswer([], null)
        {
            WouldWrite = [.. lines.Select((line, i) => LineAnswer.Of(
                new BookLine(book.Line + 1 + i, book.Line + 1, now, caller.Name, line), after.Household!.Currency))],
        });
    }
}
