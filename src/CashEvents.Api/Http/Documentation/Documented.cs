namespace CashEvents.Api.Http;

/// <summary>An example of a request and its answer, for the OpenAPI document; null where there is no body.</summary>
internal sealed record Example(string? Request, string? Answer);

/// <summary>What a parameter of an address means, with its form and an example of it.</summary>
internal sealed record ParameterMeaning(string Name, string Meaning, string Example, ParameterForm? Form);

/// <summary>An address that anybody may ask.</summary>
internal sealed record NeedsNoKey;

/// <summary>Why an example can't be tried on the demo household, though it shows the form.</summary>
internal sealed record NotOffered(string Why);

/// <summary>An address whose movements each have an idempotency key of their own, and so no header for it.</summary>
internal sealed record KeyOfEachMovement;

/// <summary>The problem answers that an address can give.</summary>
internal sealed record RefusesWith(IReadOnlyList<int> Statuses);

/// <summary>Words by which addresses describe themselves.</summary>
internal static class Documented
{
    /// <summary>Why an example is not to be tried that names what nobody but the reader could have written.</summary>
    public const string OfOnesOwn = "it needs the id of something written before.";

    public static RouteHandlerBuilder WithExample(this RouteHandlerBuilder builder, string? request, string? answer) =>
        builder.WithMetadata(new Example(request, answer));

    /// <summary>What a parameter in the path or in the query string means.</summary>
    public static RouteHandlerBuilder WithParameter(
        this RouteHandlerBuilder builder, string name, string meaning, string example, ParameterForm? form = null) =>
        builder.WithMetadata(new ParameterMeaning(name, meaning, example, form));

    /// <summary>The parameters of <see cref="Reads.AsOf"/>.</summary>
    public static RouteHandlerBuilder WithAsOf(this RouteHandlerBuilder builder) => builder
        .WithParameter("on", "As it was at the end of this day.", "2026-11-03",
            ParameterForm.Day)
        .WithParameter("atLine", "As the book stood at this line.", "52", ParameterForm.Number(Reads.AnyLine))
        .WithParameter("at", "As the book stood at this instant.", "2026-11-03T17:20:41Z", ParameterForm.Instant);

    /// <summary>Its answers have no ETag.</summary>
    public static RouteHandlerBuilder HasNoTag(this RouteHandlerBuilder builder) =>
        builder.WithMetadata(new Untagged());

    /// <summary>Anybody may ask it.</summary>
    public static RouteHandlerBuilder NeedsNoKey(this RouteHandlerBuilder builder) =>
        builder.WithMetadata(new NeedsNoKey());

    /// <summary>Holds an example back from those that the document's page offers to try.</summary>
    public static RouteHandlerBuilder NotToTry(this RouteHandlerBuilder builder, string why) =>
        builder.WithMetadata(new NotOffered(why));

    /// <summary>Says that idempotency keys stand in the body, one beside each movement.</summary>
    public static RouteHandlerBuilder KeyedByMovement(this RouteHandlerBuilder builder) =>
        builder.WithMetadata(new KeyOfEachMovement());

    /// <summary>The problem answers of an address that reads.</summary>
    public static RouteHandlerBuilder RefusesReads(this RouteHandlerBuilder builder, params int[] more) =>
        builder.RefusesWith([
            StatusCodes.Status400BadRequest, StatusCodes.Status401Unauthorized,
            StatusCodes.Status429TooManyRequests, StatusCodes.Status503ServiceUnavailable, .. more,
        ]);

    /// <summary>The problem answers of an address that writes.</summary>
    public static RouteHandlerBuilder RefusesWrites(this RouteHandlerBuilder builder, params int[] more) =>
        builder.RefusesWith([
            StatusCodes.Status400BadRequest, StatusCodes.Status401Unauthorized, StatusCodes.Status403Forbidden,
            StatusCodes.Status409Conflict, StatusCodes.Status412PreconditionFailed,
            StatusCodes.Status422UnprocessableEntity, StatusCodes.Status429TooManyRequests,
            StatusCodes.Status503ServiceUnavailable, .. more,
        ]);

    /// <summary>The problem answers of an address.</summary>
    public static RouteHandlerBuilder RefusesWith(this RouteHandlerBuilder builder, params int[] statuses) =>
        builder.WithMetadata(new RefusesWith(statuses));
}
