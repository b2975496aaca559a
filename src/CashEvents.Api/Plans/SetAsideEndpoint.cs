using FluentValidation;

namespace CashEvents.Api.Plans;

/// <summary>Every note or coin of one value in a count goes to saving.</summary>
/// <param name="Denomination">Its face value.</param>
/// <param name="To">The compartment for saving, by its id.</param>
/// <param name="OccurredOn">The household's date on which it happened, not before the count; today if left out.</param>
/// <param name="Description">What to write beside it, at most 200 characters.</param>
public sealed record SetAsideRequest(decimal? Denomination, string? To, DateOnly? OccurredOn, string? Description);

internal sealed class SetAsideRequestValidator : AbstractValidator<SetAsideRequest>
{
    public SetAsideRequestValidator()
    {
        RuleFor(r => r.Denomination).NotNull()
            .WithMessage("`denomination` is needed: the face value of the notes or coins, such as 1.00.");
        RuleFor(r => r.To).NotEmpty()
            .WithMessage("`to` names a compartment for saving by its id, such as \"rainy-day\".");
    }
}

internal sealed class SetAsideEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/counts/{id:long}/set-aside",
            async (HttpContext http, Caller caller, long id, Body<SetAsideRequest> body, WriteDesk desk,
                LineReader lines) =>
        {
            caller.MustBeAllowed(MovementKind.Transfer);
            var sent = body.Value;
            var count = (await lines.FindAsync(caller.Household, id, http.RequestAborted)
                .ConfigureAwait(false))?.Event as CountTaken
                ?? throw Refusal.NotFound("count-unknown", $"There is no count {id}.");
            var command = new SetAside(id, count, sent.Denomination!.Value, sent.To!, sent.OccurredOn,
                sent.Description);
            var (entry, currency) = await desk.WriteAsync(http, command, $"set aside {id}", sent).ConfigureAwait(false);
            var answer = MovementAnswer.Of(entry, currency!);
            return entry.Id is { } first ? (IResult)TypedResults.Created($"/api/lines/{first}", answer)
                : TypedResults.Ok(answer with { Note = "These were set aside already. Nothing was written." });
        })
        .Accepts<SetAsideRequest>("application/json")
        .Produces<MovementAnswer>(StatusCodes.Status201Created)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Set aside every note or coin of one value found in a count: a transfer to a saving compartment")
        .WithDescription("The count is the last of its place and was taken by denomination. Asked again, it "
            + "moves nothing, since what a count found can be set aside once.")
        .WithParameter("id", "The count's id, the number of its line.", "116")
        .WithExample(
            """{"denomination": 5.00, "to": "rainy-day"}""",
            """{"lines": [70], "entryId": 70, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 49.00}, {"compartment": "rainy-day", "holding": "cash", "balance": 21.00}]}""");
}
