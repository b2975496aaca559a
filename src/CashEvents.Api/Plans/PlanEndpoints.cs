using FluentValidation;

namespace CashEvents.Api.Plans;

/// <summary>Weekly amounts from a week on.</summary>
/// <param name="From">The first week that they hold for, such as <c>2026-W44</c>; by its first day where weeks do not
/// start on Monday.</param>
/// <param name="Amounts">Amount for a whole week by the id of a spending compartment; those not named keep
/// theirs.</param>
public sealed record PlanRequest(string? From, IReadOnlyDictionary<string, decimal>? Amounts)
{
    internal SetPlan ToCommand() => new(From!, Amounts!);
}

/// <summary>What setting the plan wrote.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="From">The first week.</param>
/// <param name="Amounts">Weekly amount by compartment.</param>
public sealed record PlanSetAnswer(IReadOnlyList<long> Lines, long? EntryId, string From,
    IReadOnlyDictionary<string, decimal> Amounts)
{
    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class PlanRequestValidator : AbstractValidator<PlanRequest>
{
    private const int MostAmounts = 500;

    public PlanRequestValidator()
    {
        RuleFor(r => r.From)
            .NotEmpty().WithMessage("`from` is needed: the first week, such as \"2026-W44\".")
            .Must(Week.HasForm).WithMessage(
                "`from` is a week written like 2026-W44, or its first day like 2026-10-26.");
        const string needed = "`amounts` is needed: weekly amounts by compartment, such as {\"ferry-fares\": 25.00}.";
        RuleFor(r => r.Amounts)
            .NotNull().WithMessage(needed)
            .Must(a => a!.Count > 0).WithMessage(needed)
            .Must(a => a!.Count <= MostAmounts)
            .WithMessage($"`amounts` names at most {MostAmounts} compartments: send the others in another request.");
    }
}

internal sealed class PlanEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapPut("/plan", async (HttpContext http, Caller caller, Body<PlanRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http, sent.ToCommand(), "plan", sent)
                    .ConfigureAwait(false);
                return TypedResults.Ok(new PlanSetAnswer(
                    entry.Lines, entry.Id, sent.From!,
                    sent.Amounts!.ToDictionary(a => a.Key, a => currency!.ToDecimal(currency.Exactly(a.Value, a.Key))))
                {
                    Note = entry.Lines.IsEmpty
                        ? "These amounts are set for that week already. Nothing was written."
                        : null,
                });
            })
            .Accepts<PlanRequest>("application/json")
            .Produces<PlanSetAnswer>()
            .RefusesWrites()
            .WithSummary("Set the weekly amounts of spending compartments from a week on")
            .WithDescription("An amount holds until the next week for which another is set. Setting it from an earlier "
                + "week leaves what is set for later weeks. The week may be past, unless its first day is in a closed "
                + "month.")
            .WithExample(
                """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00, "market-days": 45.00}}""",
                """{"lines": [62], "entryId": 62, "from": "2026-W44", "amounts": {"ferry-fares": 25.00, "market-days": 45.00}}""");

        api.MapGet("/plan", async (HttpContext http, Caller caller, string? week, PlanReader plans,
            TimeProvider clock) =>
            {
                Reads.OnlyTakes(http, "week");
                var book = await plans.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var household = book.Household!;
                var asked = Reads.Week(week, household)
                    ?? Week.Of(household.DateAt(clock.GetUtcNow()), household.FirstDayOfWeek);
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(PlanAnswer.Of(book, asked));
            })
            .Produces<PlanAnswer>()
            .RefusesReads(StatusCodes.Status422UnprocessableEntity)
            .WithSummary("What is planned for a week: each spending compartment's amount, since when, and what comes "
                + "next")
            .WithDescription("`week` is written 2026-W47 (or by its first day, where weeks do not start on Monday) and "
                + "is the household's present week if left out.")
            .WithParameter("week",
                "The week, by its ISO 8601 number or its first day; the household's present one if left out.",
                "2026-W47", ParameterForm.Week)
            .WithExample(null, """
                {"week": "2026-W47", "firstDay": "2026-11-16", "lastDay": "2026-11-22",
                 "compartments": [
                   {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 25.00, "since": "2026-W44", "next": {"from": "2026-W49", "amount": 30.00}},
                   {"compartment": "market-days", "label": "Market days", "amount": 45.00, "since": "2026-W44"},
                   {"compartment": "bakery-van", "label": "Bakery van"}],
                 "total": 70.00, "bookLine": 62}
                """);
    }
}

/// <summary>A line of the kind <c>plan</c>.</summary>
public sealed record PlanLine : LineAnswer, ILineOf<PlanSet>
{
    /// <summary>First day of the first week that a plan holds for.</summary>
    public required DateOnly PlannedFrom { get; init; }

    /// <summary>Weekly amounts by compartment, as a plan sets them.</summary>
    public required IReadOnlyDictionary<string, decimal> Amounts { get; init; }

    static LineAnswer ILineOf<PlanSet>.Of(PlanSet e, LineTelling told) =>
        new PlanLine { PlannedFrom = e.From, Amounts = e.Amounts.ToDictionary(a => a.Key, a => told.Say(a.Value)) };
}
