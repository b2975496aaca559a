using FluentValidation;

namespace CashEvents.Api.Plans;

/// <summary>A bill that a sinking fund saves for, once or again and again.</summary>
/// <param name="Compartment">The sinking fund, by its id.</param>
/// <param name="Label">What it is called; its id is made from this.</param>
/// <param name="Amount">Of each bill, with at most the currency's decimals.</param>
/// <param name="Due">The first due date, today or later.</param>
/// <param name="Every">From one due date to the next, as an ISO 8601 duration of one unit (<c>P1M</c>, <c>P2W</c>,
/// <c>P1Y</c>); left out when it comes once.</param>
/// <param name="Amounts">Other amounts by due date, each of that bill alone.</param>
public sealed record GoalRequest(string? Compartment, string? Label, decimal? Amount, DateOnly? Due, string? Every,
    IReadOnlyDictionary<DateOnly, decimal>? Amounts)
{
    /// <summary>What it asks the book to write.</summary>
    internal AddGoal ToCommand() => new(Compartment!, Label!, Amount!.Value, Due!.Value, Every, Amounts);
}

/// <summary>What is to change about a goal; what is left out stays.</summary>
/// <param name="Label">Another label; the id stays.</param>
/// <param name="Amount">Another amount of each bill.</param>
/// <param name="Due">Another due date of the next bill, from which the later ones are counted.</param>
/// <param name="Every">Another period, counted from the next due date.</param>
/// <param name="Amounts">Other amounts by due date; replaces those written before.</param>
public sealed record GoalChangeRequest(string? Label, decimal? Amount, DateOnly? Due, string? Every,
    IReadOnlyDictionary<DateOnly, decimal>? Amounts);

/// <summary>A bill that a sinking fund saves for.</summary>
/// <param name="Id">Made from its first label; stays.</param>
/// <param name="Compartment">The sinking fund.</param>
/// <param name="Label">What it is called.</param>
/// <param name="Amount">Of each bill for which no other amount is written.</param>
/// <param name="Due">The first due date.</param>
/// <param name="Every">From one due date to the next; absent when it comes once.</param>
/// <param name="Amounts">Other amounts by due date; absent when there are none.</param>
/// <param name="NextDue">Due date of the next bill that is not paid; absent when all are.</param>
/// <param name="NextAmount">Its amount.</param>
public sealed record GoalAnswer(
    string Id, string Compartment, string Label, decimal Amount, DateOnly Due, string? Every,
    IReadOnlyDictionary<DateOnly, decimal>? Amounts, DateOnly? NextDue, decimal? NextAmount)
{
    /// <summary>The lines just written about it; absent when it is only read.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>Their entry.</summary>
    public long? EntryId { get; init; }

    /// <summary>A goal in this API's words.</summary>
    internal static GoalAnswer Of(Goal goal, Currency currency)
    {
        var next = goal.OpenBills().FirstOrDefault();
        return new GoalAnswer(
            goal.Id, goal.Compartment, goal.Label, currency.ToDecimal(goal.Amount), goal.Due, goal.Every,
            goal.Amounts.IsEmpty ? null : goal.Amounts.ToDictionary(a => a.Key, a => currency.ToDecimal(a.Value)),
            next?.Due, next is null ? null : currency.ToDecimal(next.Amount));
    }
}

/// <summary>The household's goals.</summary>
/// <param name="Goals">In the order they were set.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record GoalsAnswer(IReadOnlyList<GoalAnswer> Goals, long BookLine);

internal sealed class GoalRequestValidator : AbstractValidator<GoalRequest>
{
    public GoalRequestValidator()
    {
        RuleFor(r => r.Compartment).NotEmpty()
            .WithMessage("`compartment` names a sinking fund by its id, such as \"boat-insurance\".");
        RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what the bill is for.");
        RuleFor(r => r.Amount).NotNull().WithMessage("`amount` is needed: a JSON number such as 480.00.");
        RuleFor(r => r.Due).NotNull().WithMessage("`due` is needed: the first due date, such as \"2027-04-01\".");
    }
}

internal sealed class GoalChangeRequestValidator : AbstractValidator<GoalChangeRequest>
{
    public GoalChangeRequestValidator() => RuleFor(r => r)
        .Must(r => r.Label is not null || r.Amount is not null || r.Due is not null || r.Every is not null
            || r.Amounts is not null)
        .OverridePropertyName("$")
        .WithMessage("Send at least one of label, amount, due, every and amounts.");
}

internal sealed class GoalEndpoints : IEndpoints
{
    private const string Hull = """
        "id": "hull-insurance", "compartment": "boat-insurance", "label": "Hull insurance", "amount": 480.00, "due": "2027-04-01", "every": "P1Y",
        "amounts": {"2028-04-01": 520.00}, "nextDue": "2027-04-01", "nextAmount": 480.00
        """;

    public static void Map(IEndpointRouteBuilder api)
    {
        MapSetting(api);
        MapList(api);
        MapOne(api);
        MapChanging(api);
        MapGivingUp(api);
    }

    private static void MapSetting(IEndpointRouteBuilder api) => api
        .MapPost("/goals", async (HttpContext http, Caller caller, Body<GoalRequest> body, WriteDesk desk) =>
        {
            caller.MustKeep();
            var sent = body.Value;
            var (entry, currency) = await desk.WriteAsync(http, sent.ToCommand(), "goal", sent)
                .ConfigureAwait(false);
            var answer = GoalAnswer.Of(entry.Goal!, currency!) with { Lines = entry.Lines, EntryId = entry.Id };
            return TypedResults.Created($"/api/goals/{Uri.EscapeDataString(answer.Id)}", answer);
        })
        .Accepts<GoalRequest>("application/json")
        .Produces<GoalAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Set a goal of a sinking fund: a bill, once or again and again")
        .WithDescription("A fund may have several goals. `every` is an ISO 8601 duration of one unit, ten years at "
            + "most: P1M, P3M, P2W, P1Y. Months are counted from the first due date, so that a bill on a 31st "
            + "comes back to it. "
            + "When a bill is paid, name its goal in the spend (`goal`), and the next occurrence takes over.")
        .WithExample(
            """{"compartment": "boat-insurance", "label": "Passenger cover", "amount": 480.00, "due": "2027-04-01", "every": "P1Y", "amounts": {"2028-04-01": 520.00}}""",
            $$"""{ {{Hull.Replace("hull-insurance", "passenger-cover", StringComparison.Ordinal).Replace("Hull insurance", "Passenger cover", StringComparison.Ordinal)}}, "lines": [63], "entryId": 63}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/goals", async (HttpContext http, Caller caller, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new GoalsAnswer(
                [.. book.Goals.Values.OrderBy(g => g.Line).Select(g => GoalAnswer.Of(g, book.Currency))],
                book.Line));
        })
        .Produces<GoalsAnswer>()
        .RefusesReads()
        .WithSummary("The goals of the sinking funds, in the order they were set")
        .WithExample(null, $$"""{"goals": [{ {{Hull}} }], "bookLine": 63}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/goals/{id}", async (HttpContext http, Caller caller, string id, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(GoalAnswer.Of(book.GoalNamed(id), book.Currency));
        })
        .Produces<GoalAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("One goal")
        .WithParameter("id", "The goal's id.", "hull-insurance")
        .WithExample(null, $$"""{ {{Hull}} }""");

    private static void MapChanging(IEndpointRouteBuilder api) => api
        .MapPatch("/goals/{id}",
            async (HttpContext http, Caller caller, string id, Body<GoalChangeRequest> body, WriteDesk desk,
                BookReader books) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    new ChangeGoal(id, sent.Label, sent.Amount, sent.Due, sent.Every, sent.Amounts), $"goal {id}", sent)
                    .ConfigureAwait(false);
                var goal = entry.Goal
                    ?? (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false))
                        .GoalNamed(id);
                return TypedResults.Ok(GoalAnswer.Of(goal, currency!) with { Lines = entry.Lines, EntryId = entry.Id });
            })
        .Accepts<GoalChangeRequest>("application/json")
        .Produces<GoalAnswer>()
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Change a goal: its label, amount, due date, period, or the amounts that differ")
        .WithDescription("What is left out stays. With another `due` or `every` the bills are counted anew "
                + "from the next due date. Bills that were paid stay paid. To turn one that comes again and "
                + "again into one that comes once, remove it and set it anew.")
        .WithParameter("id", "The goal's id.", "hull-insurance")
        .WithExample("""{"amount": 495.00}""",
            $$"""{ {{Hull.Replace("\"amount\": 480.00", "\"amount\": 495.00", StringComparison.Ordinal).Replace("\"nextAmount\": 480.00", "\"nextAmount\": 495.00", StringComparison.Ordinal)}}, "lines": [64], "entryId": 64}""");

    private static void MapGivingUp(IEndpointRouteBuilder api) => api
        .MapDelete("/goals/{id}", async (HttpContext http, Caller caller, string id, WriteDesk desk) =>
        {
            Reads.OnlyTakes(http);
            caller.MustKeep();
            id = Reads.LastStep(http, id);
            await desk.WriteAsync(http, new RemoveGoal(id), $"remove goal {id}", id).ConfigureAwait(false);
            return TypedResults.NoContent();
        })
        .Produces(StatusCodes.Status204NoContent)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Give up a goal; what was saved for it stays in the fund")
        .WithParameter("id", "The goal's id.", "hull-insurance")
        .WithExample(null, null);
}

/// <summary>A line of the kind <c>goal</c>.</summary>
public sealed record GoalLine : LineAnswer, ILineOf<GoalSet>
{
    /// <summary>The goal that is set or removed, or whose bill a spend pays.</summary>
    public required string Goal { get; init; }

    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    /// <summary>The first due date of a goal or a saving plan, or that of the bill that a spend pays.</summary>
    public required DateOnly Due { get; init; }

    /// <summary>The period from one due date of a goal or a saving plan to the next, as an ISO 8601 duration.</summary>
    public string? Every { get; init; }

    /// <summary>The day from which a goal's first bill is saved for.</summary>
    public required DateOnly SavedSince { get; init; }

    /// <summary>Amounts of a goal that differ, by due date.</summary>
    public IReadOnlyDictionary<DateOnly, decimal>? DueAmounts { get; init; }

    static LineAnswer ILineOf<GoalSet>.Of(GoalSet e, LineTelling told) =>
        new GoalLine
        {
            Goal = e.Goal,
            Compartment = e.Compartment,
            Label = e.Label,
            Amount = told.Say(e.Amount),
            Due = e.Due,
            Every = e.Every,
            SavedSince = e.Since,
            DueAmounts = e.Amounts.IsEmpty ? null : e.Amounts.ToDictionary(a => a.Key, a => told.Say(a.Value))
        };
}

/// <summary>A line of the kind <c>goalRemoved</c>.</summary>
public sealed record GoalRemovedLine : LineAnswer, ILineOf<GoalRemoved>
{
    /// <summary>The goal that is set or removed, or whose bill a spend pays.</summary>
    public required string Goal { get; init; }

    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    static LineAnswer ILineOf<GoalRemoved>.Of(GoalRemoved e, LineTelling told) =>
        new GoalRemovedLine { Goal = e.Goal, Compartment = e.Compartment };
}
