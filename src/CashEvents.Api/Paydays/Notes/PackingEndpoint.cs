using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>A stack of notes and coins to be packed.</summary>
/// <param name="InHand">How many of each there are, as <c>{"50": 2, "20": 3}</c>.</param>
/// <param name="Amounts">What each compartment is to get, by its id.</param>
public sealed record PackingRequest(IReadOnlyDictionary<string, long>? InHand,
    IReadOnlyDictionary<string, decimal>? Amounts);

internal sealed class PackingRequestValidator : AbstractValidator<PackingRequest>
{
    public PackingRequestValidator()
    {
        RuleFor(r => r.InHand).NotNull()
            .WithMessage(
                "`inHand` is needed: how many of each note and coin there are, such as {\"50\": 2, \"20\": 3}.");
        RuleFor(r => r.Amounts).AreToPack();
    }
}

/// <summary>Rules of form that packings and draw slips share.</summary>
internal static class PackingRules
{
    private const string Needed =
        "`amounts` is needed: what each compartment is to get, such as {\"ferry-fares\": 40.00}.";

    public static void AreToPack<T>(this IRuleBuilder<T, IReadOnlyDictionary<string, decimal>?> rule) => rule
        .NotNull().WithMessage(Needed)
        .Must(amounts => amounts!.Count > 0).WithMessage(Needed)
        .Must(amounts => amounts!.Count <= PackingTask.MostTargets)
        .WithMessage($"`amounts` names at most {PackingTask.MostTargets} compartments: pack the others from another "
            + $"stack.");
}

internal sealed class PackingEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/packings", async (HttpContext http, Caller caller, Body<PackingRequest> body, BookReader books) =>
        {
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var task = PackingTask.Read(book, body.Value.Amounts!, body.Value.InHand!, []);
            var packing = PackingSolver.Pack(task);
            var change = packing.IsExact ? null : PackingSolver.Change(task, Denominations.StillIssued(book.Currency));
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(PackingAnswer.Of(packing, change, book));
        })
        .IsHeavy()
        .Accepts<PackingRequest>("application/json")
        .Produces<PackingAnswer>()
        .RefusesReads(StatusCodes.Status409Conflict, StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Which notes and coins of a stack go into which compartment, exactly")
        .WithDescription("Writes nothing. Where it can't be exact, the answer is the nearest that is possible. "
            + "It also names the fewest pieces to change at a shop so that it is exact. The compartments' wishes "
            + "come next, and then as few pieces as possible. The same question gets the same answer.")
        .WithExample(
            """{"inHand": {"50": 1, "20": 1}, "amounts": {"ferry-fares": 25.00, "market-days": 40.00}}""",
            """
            {"exact": false, "provenBest": true,
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 25.00, "packed": 20.00, "pieces": [{"value": 20.00, "count": 1}]},
               {"compartment": "market-days", "label": "Market days", "amount": 40.00, "packed": 50.00, "pieces": [{"value": 50.00, "count": 1}]}],
             "left": [], "leftTotal": 0.00, "unmetWishes": [], "bookLine": 62,
             "change": {"count": 1, "give": [{"value": 50.00, "count": 1}], "get": [{"value": 20.00, "count": 2}, {"value": 5.00, "count": 2}], "provenBest": true,
               "compartments": [
                 {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 25.00, "packed": 25.00, "pieces": [{"value": 20.00, "count": 1}, {"value": 5.00, "count": 1}]},
                 {"compartment": "market-days", "label": "Market days", "amount": 40.00, "packed": 40.00, "pieces": [{"value": 20.00, "count": 2}]}],
               "unmetWishes": []}}
            """);
}
