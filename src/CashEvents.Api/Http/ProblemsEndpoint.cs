using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Http;

/// <summary>A kind of problem.</summary>
/// <param name="Type">The `type` of its problems, the address at which this is told.</param>
/// <param name="Title">Its code in words.</param>
/// <param name="Code">Stable, for programs.</param>
/// <param name="Means">What it means and how to mend it.</param>
public sealed record ProblemKindAnswer(string Type, string Title, string Code, string Means)
{
    internal static ProblemKindAnswer Of(ProblemKind kind) =>
        new(ProblemKind.TypeOf(kind.Code), ProblemKind.TitleOf(kind.Code), kind.Code, kind.Means);
}

/// <summary>Where the `type` of a problem leads: what it means and how to mend it. No key is needed.</summary>
internal static class ProblemsEndpoint
{
    public static void MapProblems(this IEndpointRouteBuilder app)
    {
        // Without a type it would be taken for a request delegate, whose result nobody sends.
        Delegate all = (HttpContext http) => AnswerAsync(http,
            ProblemKind.All.Values.OrderBy(kind => kind.Code, StringComparer.Ordinal),
            kinds => kinds.Select(ProblemKindAnswer.Of));
        app.MapGet(ProblemKind.Root, all).ExcludeFromDescription();
        app.MapGet(ProblemKind.Root + "/{code}", (HttpContext http, string code) =>
                ProblemKind.All.TryGetValue(code, out var kind)
                    ? AnswerAsync(http, [kind], kinds => ProblemKindAnswer.Of(kinds.Single()))
                    : Task.FromResult(Problems.Of(StatusCodes.Status404NotFound, "address-unknown",
                        $"There is no kind of problem '{code}'. {ProblemKind.Root} lists all of them.")))
            .ExcludeFromDescription();
    }

    private static Task<IResult> AnswerAsync<T>(HttpContext http, IEnumerable<ProblemKind> kinds,
        Func<IEnumerable<ProblemKind>, T> say)
    {
        // They change only with the program.
        http.Response.Headers[HeaderNames.CacheControl] = "no-cache";
        return Forms.Of(http, Form.Html) == Form.Html
            ? PrintedPages.OfAsync<ProblemsPage>(http, new() { [nameof(ProblemsPage.Kinds)] = kinds.ToList() })
            : Task.FromResult<IResult>(TypedResults.Ok(say(kinds)));
    }
}
