using FluentValidation;

namespace CashEvents.Api.Plans;

/// <summary>
/// Amounts to put aside step by step: a first amount with its growth and a number of steps, or a list.
/// </summary>
/// <param name="First">The first amount.</param>
/// <param name="Growth">How much each step is more than the one before it; 0 if left out.</param>
/// <param name="Count">How many steps, 1 to 400.</param>
/// <param name="Amounts">Or else the amounts one by one, 1 to 400.</param>
/// <param name="Seed">A whole number that shuffles them, the same way each time; left out, they stay in order.</param>
/// <param name="From">The day on which the first step is due; today if left out.</param>
/// <param name="Every">The period from one step to the next, as an ISO 8601 duration of one unit; P1W if left
/// out.</param>
public sealed record SavingPlanRequest(decimal? First, decimal? Growth, int? Count, IReadOnlyList<decimal>? Amounts,
    long? Seed, DateOnly? From, string? Every)
{
    /// <summary>What it asks the book to write.</summary>
    internal SetSavingPlan ToCommand(string compartment) =>
        new(compartment, First, Growth, Count, Amounts, Seed, From, Every);
}

/// <summary>A step of a saving plan is done.</summary>
/// <param name="Holding">Where the money goes: cash or bank; cash if left out.</param>
/// <param name="OccurredOn">The household's date on which it happened; today if left out.</param>
/// <param name="Description">What to write beside it, at most 200 characters.</param>
/// <param name="Number">Which step, 1 for the first; the next that is open if left out.</param>
/// <param name="From">The compartment that it is taken from; from outside the book if left out.</param>
/// <param name="Carried">Whether it came from notes that somebody carries of `from`. If left out, yes when the sender's
/// key is the carrier's own.</param>
public sealed record SavingStepRequest(Holding? Holding, DateOnly? OccurredOn, string? Description, int? Number = null,
    PartRef? From = null, bool? Carried = null)
{
    /// <summary>What it asks the book to write.</summary>
    internal DoSavingStep ToCommand(string compartment) =>
        new(compartment, Holding ?? Domain.Books.Holding.Cash, OccurredOn, Description)
        {
            Number = Number,
            From = From?.ToPart(),
            Hands = new Hands(Carried: Carried)
        };

    internal MovementKind Writes => From is null ? MovementKind.Fill : MovementKind.Transfer;
}

/// <summary>A step of a saving plan.</summary>
/// <param name="Number">1 for the first.</param>
/// <param name="Due">The day on which it is due.</param>
/// <param name="Amount">How much is put aside.</param>
/// <param name="Done">Whether it is done.</param>
public sealed record SavingStepAnswer(int Number, DateOnly Due, decimal Amount, bool Done);

/// <summary>A compartment's saving plan.</summary>
/// <param name="Compartment">Its compartment.</param>
/// <param name="StepCount">How many steps there are.</param>
/// <param name="StepsDone">How many are done.</param>
/// <param name="DoneTotal">What they come to.</param>
/// <param name="Total">What all come to.</param>
/// <param name="Every">The period from one step to the next.</param>
/// <param name="Next">The next step; absent when all are done.</param>
public sealed record SavingPlanAnswer(string Compartment, int StepCount, int StepsDone, decimal DoneTotal,
    decimal Total, string Every, SavingStepAnswer? Next)
{
    /// <summary>All of them, in order; absent in the list of plans.</summary>
    public IReadOnlyList<SavingStepAnswer>? Steps { get; init; }

    /// <summary>The lines just written about it; absent when it is only read.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>Their entry.</summary>
    public long? EntryId { get; init; }

    /// <summary>A plan in this API's words.</summary>
    internal static SavingPlanAnswer Of(SavingPlan plan, Currency currency, bool withSteps)
    {
        List<SavingStepAnswer> steps =
            [.. plan.All().Select(s =>
                new SavingStepAnswer(s.Number, s.Due, currency.ToDecimal(s.Amount), plan.Done.Contains(s.Number)))];
        return new SavingPlanAnswer(
            plan.Compartment, steps.Count, plan.Done.Count, Sum(steps.Where(s => s.Done)), Sum(steps), plan.Every,
            steps.Find(s => !s.Done))
        {
            Steps = withSteps ? steps : null,
        };

        decimal Sum(IEnumerable<SavingStepAnswer> of) => of.Sum(s => s.Amount) + currency.ToDecimal(Money.Zero);
    }
}

/// <summary>The household's saving plans.</summary>
/// <param name="SavingPlans">In the order they were set.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record SavingPlansAnswer(IReadOnlyList<SavingPlanAnswer> SavingPlans, long BookLine);

internal sealed class SavingPlanRequestValidator : AbstractValidator<SavingPlanRequest>
{
    public SavingPlanRequestValidator() => RuleFor(r => r)
        .Must(r => r.First is not null || r.Amounts is not null)
        .OverridePropertyName("$")
        .WithMessage("Send `first` and `count`, with `growth` if the steps grow; or `amounts`.");
}

internal sealed class SavingStepRequestValidator : AbstractValidator<SavingStepRequest>
{
    public SavingStepRequestValidator() => When(r => r.From is not null, () => RuleFor(r => r.From).IsPlace());
}

internal sealed class SavingPlanEndpoints : IEndpoints
{
    private const string Plan = """
        "compartment": "rainy-day", "stepCount": 52, "stepsDone": 2, "doneTotal": 3.00, "total": 1378.00, "every": "P1W",
        "next": {"number": 3, "due": "2026-11-29", "amount": 3.00, "done": false}
        """;

    public static void Map(IEndpointRouteBuilder api)
    {
        MapSetting(api);
        MapList(api);
        MapOne(api);
        MapSteps(api);
    }

    private static void MapSetting(IEndpointRouteBuilder api) => api
        .MapPut("/saving-plans/{id}",
            async (HttpContext http, Caller caller, string id, Body<SavingPlanRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http, sent.ToCommand(id), $"saving plan {id}", sent)
                    .ConfigureAwait(false);
                return TypedResults.Ok(SavingPlanAnswer.Of(entry.SavingPlan!, currency!,
                    withSteps: false) with
                { Lines = entry.Lines, EntryId = entry.Id });
            })
        .Accepts<SavingPlanRequest>("application/json")
        .Produces<SavingPlanAnswer>()
        .RefusesWrites()
        .WithSummary("Give a saving compartment steps: fixed, growing, listed, or shuffled by a seed")
        .WithDescription("With `first`, `growth` and `count` each step is `growth` more than the one before "
                + "it. So n steps that begin at 1.00 and grow by 1.00 come to n(n+1)/2. A later plan replaces an "
                + "earlier one, and its steps are counted anew.")
        .WithParameter("id", "The compartment's id.", "rainy-day")
        .WithExample(
            """{"first": 1.00, "growth": 1.00, "count": 52, "from": "2026-11-15"}""",
            $$"""{ {{Plan}}, "lines": [66], "entryId": 66}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/saving-plans", async (HttpContext http, Caller caller, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new SavingPlansAnswer(
                [.. book.SavingPlans.Values.OrderBy(p => p.Line)
                    .Select(p => SavingPlanAnswer.Of(p, book.Currency, withSteps: false))], book.Line));
        })
        .Produces<SavingPlansAnswer>()
        .RefusesReads()
        .WithSummary("The saving plans: steps done, the next step due, and the total when all are done")
        .WithExample(null, $$"""{"savingPlans": [{ {{Plan}} }], "bookLine": 68}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/saving-plans/{id}", async (HttpContext http, Caller caller, string id, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var plan = book.SavingPlanOf(id);
            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Html) == Form.Html
                ? await PrintedPages.OfAsync<SavingStepsPage>(http, book, book.Line, new()
                {
                    [nameof(SavingStepsPage.Plan)] = plan,
                    [nameof(SavingStepsPage.Label)] = book.Compartments[id].Label,
                    [nameof(SavingStepsPage.Currency)] = book.Currency,
                }).ConfigureAwait(false)
                : TypedResults.Ok(SavingPlanAnswer.Of(plan, book.Currency, withSteps: true));
        })
        .Produces<SavingPlanAnswer>(StatusCodes.Status200OK, "application/json", "text/html")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("A saving plan with all its steps")
        .WithDescription("The page has a box for each step, to tick.")
        .WithParameter("id", "The compartment's id.", "rainy-day")
        .WithExample(null,
            $$"""{ {{Plan}}, "steps": [{"number": 1, "due": "2026-11-15", "amount": 1.00, "done": true}]}""");

    private static void MapSteps(IEndpointRouteBuilder api) => api
        .MapPost("/saving-plans/{id}/steps",
            async (HttpContext http, Caller caller, string id, Body<SavingStepRequest> body, WriteDesk desk) =>
            {
                var sent = body.Value;
                caller.MustBeAllowed(sent.Writes);
                var (entry, currency) = await desk.WriteAsync(http, sent.ToCommand(id), $"saving step {id}", sent)
                    .ConfigureAwait(false);
                return TypedResults.Created($"/api/lines/{entry.Id}", MovementAnswer.Of(entry, currency!));
            })
        .Accepts<SavingStepRequest>("application/json")
        .Produces<MovementAnswer>(StatusCodes.Status201Created)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Do a step of a saving plan, the next or any that is open: a fill of its amount, or a "
            + "transfer from a compartment")
        .WithDescription("With `from` it is a transfer, for which a script's key needs `transfer`. Without "
                + "it, it is a fill from outside the book. Reversing the line leaves the step to be done again. "
                + "A line that is amended is an ordinary one, and its step is to be done again too.")
        .WithParameter("id", "The compartment's id.", "rainy-day")
        .WithExample(
            """{"number": 3, "from": {"compartment": "market-days"}, "occurredOn": "2026-11-29"}""",
            """{"lines": [69], "entryId": 69, "balances": [{"compartment": "market-days", "holding": "cash", "balance": 42.00}, {"compartment": "rainy-day", "holding": "cash", "balance": 6.00}]}""");
}

/// <summary>A line of the kind <c>savingPlan</c>.</summary>
public sealed record SavingPlanLine : LineAnswer, ILineOf<SavingPlanSet>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>The first due date of a goal or a saving plan, or that of the bill that a spend pays.</summary>
    public required DateOnly Due { get; init; }

    /// <summary>The period from one due date of a goal or a saving plan to the next, as an ISO 8601 duration.</summary>
    public required string Every { get; init; }

    /// <summary>The steps of a saving plan, in order.</summary>
    public required IReadOnlyList<decimal> Steps { get; init; }

    static LineAnswer ILineOf<SavingPlanSet>.Of(SavingPlanSet e, LineTelling told) =>
        new SavingPlanLine
        {
            Compartment = e.Compartment,
            Due = e.From,
            Every = e.Every,
            Steps = [.. e.Steps.Amounts().Select(told.Say)]
        };
}
