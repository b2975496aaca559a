using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Whether the movements of a batch are written all or nothing.</summary>
public enum BatchMode
{
    /// <summary>One refusal and none is written.</summary>
    AllOrNothing,

    /// <summary>Each is written or refused by itself.</summary>
    EachOnItsOwn,
}

/// <summary>Movements sent in one request: from a phone that was offline, or a script that imports.</summary>
/// <param name="Mode">All or nothing, or each on its own; all or nothing if left out.</param>
/// <param name="Movements">1 to 1,000, each with its <c>kind</c> and, if wanted, its own <c>idempotencyKey</c>.</param>
public sealed record BatchRequest(BatchMode? Mode, IReadOnlyList<MovementRequest>? Movements);

/// <summary>What became of one movement of a batch.</summary>
/// <param name="Status">The status it would have had alone: 201 written, 200 nothing to do, 4xx refused.</param>
/// <param name="IdempotencyKey">The key it was sent with.</param>
/// <param name="Answer">What it wrote.</param>
/// <param name="Problem">Why it was refused.</param>
public sealed record BatchItemAnswer(int Status, string? IdempotencyKey, MovementAnswer? Answer, Problem? Problem);

/// <summary>What became of a batch.</summary>
/// <param name="Written">How many movements stand in the book, now or from an earlier sending.</param>
/// <param name="Refused">How many were refused.</param>
/// <param name="Answers">One for each movement, in the order sent.</param>
public sealed record BatchAnswer(int Written, int Refused, IReadOnlyList<BatchItemAnswer> Answers);

internal sealed class BatchRequestValidator : AbstractValidator<BatchRequest>
{
    public const int MostMovements = 1000;

    public BatchRequestValidator()
    {
        var needed = $"`movements` lists 1 to {MostMovements} movements: split a longer list into several batches.";
        RuleFor(r => r.Movements)
            .NotNull().WithMessage(needed)
            .Must(m => m is { Count: > 0 and <= MostMovements } && m.All(x => x is not null)).WithMessage(needed);
    }
}

internal sealed class BatchEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/batches", async (HttpContext http, Caller caller, Body<BatchRequest> body, WriteDesk desk) =>
        {
            if (http.Request.Headers.ContainsKey("Idempotency-Key"))
            {
                throw new MalformedException("Idempotency-Key",
                    "In a batch each movement has its own `idempotencyKey`: leave the header out.");
            }

            var movements = body.Value.Movements!;
            foreach (var kind in movements.Select(m => m.Kind).Distinct())
            {
                caller.MustBeAllowed(kind);
            }

            Check(http, movements);
            var together = body.Value.Mode is null or BatchMode.AllOrNothing;
            var result = await desk.WriteAsync(http, [.. movements.Select(m => m.ToEntry())], together)
                .ConfigureAwait(false);
            if (result.Outcomes.Select((o, i) => (o.Refusal, Place: i))
                .FirstOrDefault(o => o.Refusal is { Sort: RefusalSort.NotAllowed }) is
                {
                    Refusal: { } refused,
                    Place: var place
                })
            {
                throw new RefusedException(InPlace(refused, place), result.Book.Household?.Currency);
            }

            Answers.StampLine(http, LineOf(result));
            return Answer(result, movements, together);
        })
        .Accepts<BatchRequest>("application/json")
        .Produces<BatchAnswer>()
        .RefusesWrites()
        .WithSummary("Record several movements: all or nothing, or each on its own")
        .WithDescription("`allOrNothing` (the default) writes every movement in one transaction, or none. If "
            + "none, it is a 409 problem with an answer for each. The fields at fault are named by their place "
            + "in the list. `eachOnItsOwn` writes what it can and answers 200. A movement with an idempotency "
            + "key that was written before is not written again. Where one asks for more than the key may write, "
            + "the whole batch is refused, in either mode.")
        .KeyedByMovement()
        .WithExample(
            """
            {"mode": "eachOnItsOwn", "movements": [
              {"kind": "spend", "idempotencyKey": "phone-7f1c", "compartment": "market-days", "amount": 6.20, "occurredOn": "2026-11-03", "description": "Bread and cheese"},
              {"kind": "spend", "idempotencyKey": "phone-7f1d", "compartment": "market-day", "amount": 3.00, "occurredOn": "2026-11-03"}]}
            """,
            """
            {"written": 1, "refused": 1, "answers": [
              {"status": 201, "idempotencyKey": "phone-7f1c", "answer": {"lines": [53], "entryId": 53, "balances": [{"compartment": "market-days", "holding": "cash", "balance": 32.35}]}},
              {"status": 422, "idempotencyKey": "phone-7f1d", "problem": {"type": "/problems/compartment-unknown", "title": "Compartment unknown", "status": 422,
                "detail": "There is no compartment 'market-day'. Did you mean 'market-days'?", "code": "compartment-unknown",
                "errors": {"movements[1].compartment": ["There is no compartment 'market-day'. Did you mean 'market-days'?"]}, "suggestions": ["market-days"]}}]}
            """);

    // The line that it left the book at, now or when it was first sent.
    private static long LineOf(WriteResult result) =>
        result.Outcomes.All(o => o.Entry is { Lines.IsEmpty: false })
            ? result.Outcomes.Max(o => o.Entry!.BookLine)
            : result.Book.Line;

    private static IResult Answer(WriteResult result, IReadOnlyList<MovementRequest> movements, bool together)
    {
        var currency = result.Book.Household?.Currency;
        var items = result.Outcomes.Select((outcome, i) =>
        {
            if (outcome.Entry is { } entry)
            {
                return new BatchItemAnswer(
                    entry.Lines.IsEmpty ? StatusCodes.Status200OK : StatusCodes.Status201Created,
                    movements[i].IdempotencyKey, MovementAnswer.Of(entry, entry.CurrencyThen(result.Book)!), null);
            }

            var problem = Problems.Of(InPlace(outcome.Refusal!, i), currency);
            return new BatchItemAnswer(problem.Status, movements[i].IdempotencyKey, null, problem);
        }).ToList();
        var refused = items.Count(i => i.Problem is not null);
        var answer = new BatchAnswer(items.Count - refused, refused, items);
        if (!together || refused == 0)
        {
            return TypedResults.Ok(answer);
        }

        var stale = result.Outcomes.Any(o => o.Refusal?.Sort == RefusalSort.Stale);
        return Problems.Answer(new Problem(
            stale ? StatusCodes.Status412PreconditionFailed : StatusCodes.Status409Conflict,
            "batch-refused",
            "Nothing of the batch was written: mend the movements whose answers say what is the matter, and send it "
                + "again.")
        {
            Errors = items.SelectMany(i => i.Problem?.Errors ?? NoErrors).ToDictionary(),
            Answers = answer.Answers,
        });
    }

    private static readonly IReadOnlyDictionary<string, string[]> NoErrors = new Dictionary<string, string[]>();

    // A movement that only waits for the others, or comes after the book has moved on, has no field to mend.
    private static Refusal InPlace(Refusal refusal, int place) =>
        refusal.Sort == RefusalSort.Stale || refusal == Outcome.WithTheOthers.Refusal
            ? refusal
            : refusal.At($"movements[{place}]");

    /// <summary>Checks the form of every movement and names all faults at once, by their place in the list.</summary>
    private static void Check(HttpContext http, IReadOnlyList<MovementRequest> movements)
    {
        var errors = new Dictionary<string, string[]>();
        for (var i = 0; i < movements.Count; i++)
        {
            try
            {
                WriteDesk.BodyKey(movements[i].IdempotencyKey, "idempotencyKey");
                Validation.Check(http.RequestServices, movements[i]);
            }
            catch (MalformedException faults)
            {
                foreach (var (field, mends) in faults.Errors)
                {
                    errors[$"movements[{i}].{field}"] = mends;
                }
            }
        }

        if (errors.Count > 0)
        {
            throw new MalformedException(errors);
        }
    }
}
