namespace CashEvents.Api.Movements;

/// <summary>The way that every movement takes from its address to the book.</summary>
internal static class MovementEndpoints
{
    /// <summary>Maps one kind of movement to its own address.</summary>
    public static RouteHandlerBuilder MapMovement<T>(this IEndpointRouteBuilder api, string address)
        where T : MovementRequest => api
        .MapPost(address, async (HttpContext http, Caller caller, Body<T> body, WriteDesk desk) =>
        {
            caller.MustBeAllowed(body.Value.Kind);
            return await RecordAsync(http, desk, body.Value).ConfigureAwait(false);
        })
        .Accepts<T>("application/json")
        .Produces<MovementAnswer>(StatusCodes.Status201Created)
        .RefusesWrites();

    /// <summary>Writes one movement and answers with what it wrote.</summary>
    public static async Task<IResult> RecordAsync(HttpContext http, WriteDesk desk, MovementRequest movement)
    {
        var (entry, currency) = await desk.WriteAsync(http, movement.ToCommand(), Spelling.Of(movement.Kind),
            movement with { IdempotencyKey = null }, movement.IdempotencyKey).ConfigureAwait(false);
        var answer = MovementAnswer.Of(entry, currency!);
        return entry.Id is { } first ? TypedResults.Created($"/api/lines/{first}", answer) : TypedResults.Ok(answer);
    }
}
