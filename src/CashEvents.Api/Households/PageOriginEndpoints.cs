using FluentValidation;

namespace CashEvents.Api.Households;

/// <summary>The origins of web pages that may use the household's book from a browser.</summary>
/// <param name="Origins">Each as a browser names it: scheme, host and port, such as
/// <c>https://harbour.example:8443</c>. An empty list lets none.</param>
public sealed record PageOriginsRequest(IReadOnlyList<string>? Origins);

/// <summary>The origins of web pages that may use the household's book from a browser.</summary>
/// <param name="Origins">In the order of the alphabet; none unless the keeper names them.</param>
public sealed record PageOriginsAnswer(IReadOnlyList<string> Origins);

internal sealed class PageOriginsRequestValidator : AbstractValidator<PageOriginsRequest>
{
    private const int MostOrigins = 20;

    public PageOriginsRequestValidator()
    {
        RuleFor(r => r.Origins).NotNull().WithMessage("`origins` is a list: an empty one lets no page of others in.")
            .Must(origins => origins!.Count <= MostOrigins)
            .WithMessage($"`origins` has at most {MostOrigins}.");
        RuleForEach(r => r.Origins).Must(origin => origin is not null && IsOrigin(origin))
            .WithMessage("An origin is a scheme, a host and a port that is not the usual one, in small letters and "
                + "without a slash at its end, such as https://harbour.example:8443. Each is named by itself.");
    }

    // As RFC 6454, section 6.2, writes them; those of files and of frames without an address are all "null".
    private static bool IsOrigin(string origin) => Uri.TryCreate(origin, UriKind.Absolute, out var uri)
        && (uri.Scheme == Uri.UriSchemeHttp || uri.Scheme == Uri.UriSchemeHttps)
        && origin == $"{uri.Scheme}://{(uri.HostNameType == UriHostNameType.IPv6 ? uri.Host : uri.IdnHost)}"
            + (uri.IsDefaultPort ? "" : FormattableString.Invariant($":{uri.Port}"));
}

internal sealed class PageOriginEndpoints : IEndpoints
{
    private const string Named = """{"origins": ["https://harbour.example:8443"]}""";

    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/page-origins", async (HttpContext http, Caller caller, PageOrigins origins) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                return TypedResults.Ok(new PageOriginsAnswer(
                    await origins.OfAsync(caller.Household, http.RequestAborted).ConfigureAwait(false)));
            })
            .Produces<PageOriginsAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden)
            .HasNoTag()
            .WithSummary("The web pages of other origins that may use the book from a browser")
            .WithExample(null, Named);

        api.MapPut("/page-origins", async (HttpContext http, Caller caller, Body<PageOriginsRequest> body,
                PageOrigins origins) =>
            {
                caller.MustKeep();
                await origins.NameAsync(caller.Household, body.Value.Origins!, http.RequestAborted)
                    .ConfigureAwait(false);
                return TypedResults.Ok(new PageOriginsAnswer(
                    await origins.OfAsync(caller.Household, http.RequestAborted).ConfigureAwait(false)));
            })
            .Accepts<PageOriginsRequest>("application/json")
            .Produces<PageOriginsAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden)
            .HasNoTag()
            .WithSummary("Name the web pages of other origins that may use the book from a browser")
            .WithDescription("The list replaces the one before. A page needs a key all the same. It is no line of the "
                + "book. What browsers believe of the list before holds for ten minutes at most.")
            .WithExample(Named, Named);
    }
}
