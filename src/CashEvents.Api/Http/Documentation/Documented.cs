namespace CashEvents.Api.Http;

/// <summary>An example of a request and its answer, for the OpenAPI document; null where there is no body.</summary>
internal sealed record Example(string? Request, string? Answer);

/// <summary>The problem answers that an address can give.</summary>
internal sealed record RefusesWith(IReadOnlyList<int> Statuses);

/// <summary>Words by which addresses describe themselves.</summary>
internal static class Documented
{
    public static RouteHandlerBuilder WithExample(this RouteHandlerBuilder builder, string? request, string? answer) =>
        builder.WithMetadata(new Example(request, answer));

    /// <summary>The problem answers of an address that reads.</summary>
    public static RouteHandlerBuilder RefusesReads(this RouteHandlerBuilder builder, params int[] more) =>
        builder.RefusesWith(
        [StatusCodes.Status400BadRequest, StatusCodes.Status401Unauthorized, StatusCodes.Status429TooManyRequests,
            StatusCodes.Status503ServiceUnavailable, .. more]);

    /// <summary>The problem answers of an address that writes.</summary>
    public static RouteHandlerBuilder RefusesWrites(this RouteHandlerBuilder builder, params int[] more) =>
        builder.RefusesWith(
    [
        StatusCodes.Status400BadRequest, StatusCodes.Status401Unauthorized, StatusCodes.Status403Forbidden,
        StatusCodes.Status409Conflict,
        StatusCodes.Status412PreconditionFailed, StatusCodes.Status422UnprocessableEntity,
        StatusCodes.Status429TooManyRequests, StatusCodes.Status503ServiceUnavailable, .. more,
    ]);

    /// <summary>The problem answers of an address.</summary>
    public static RouteHandlerBuilder RefusesWith(this RouteHandlerBuilder builder, params int[] statuses)
    {
        foreach (var status in statuses)
        {
            builder.Produces<Problem>(status, Problems.ContentType);
        }

        return builder.WithMetadata(new RefusesWith(statuses));
    }
}
