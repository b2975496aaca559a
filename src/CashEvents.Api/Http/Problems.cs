using Microsoft.AspNetCore.Diagnostics;
using Npgsql;

namespace CashEvents.Api.Http;

/// <summary>The request can't be read or its words do not have the form asked for.</summary>
/// <param name="errors">What is the matter and the mend, by JSON path or parameter.</param>
public sealed class MalformedException(IReadOnlyDictionary<string, string[]> errors)
    : Exception(string.Join(" ", errors.SelectMany(e => e.Value)))
{
    /// <summary>One fault.</summary>
    public MalformedException(string field, string mend) : this(new Dictionary<string, string[]> { [field] = [mend] })
    {
    }

    /// <summary>What is the matter and the mend, by JSON path or parameter.</summary>
    public IReadOnlyDictionary<string, string[]> Errors { get; } = errors;
}

/// <summary>A refusal on its way to the sender, with the currency its amounts are told in.</summary>
public sealed class RefusedException(Refusal refusal, Currency? currency) : Exception(refusal.Detail)
{
    /// <summary>Why.</summary>
    public Refusal Refusal { get; } = refusal;

    /// <summary>The household's currency.</summary>
    public Currency? Currency { get; } = currency;
}

/// <summary>Answers for what went wrong: RFC 9457 problem details with a stable <c>code</c>.</summary>
internal static class Problems
{
    /// <summary>The content type of every problem answer.</summary>
    public const string ContentType = "application/problem+json";

    /// <summary>A problem as an answer.</summary>
    public static IResult Answer(Problem problem) =>
        TypedResults.Json(problem, contentType: ContentType, statusCode: problem.Status);

    /// <summary>A problem as an answer.</summary>
    public static IResult Of(int status, string code, string detail,
        IReadOnlyDictionary<string, string[]>? errors = null) =>
        Answer(new Problem(status, code,
            Brief(detail))
        { Errors = errors?.ToDictionary(e => Brief(e.Key), e => e.Value.Select(Brief).ToArray()) });

    /// <summary>A refusal as a problem.</summary>
    public static Problem Of(Refusal refusal, Currency? currency) => new(
        refusal.Sort switch
        {
            RefusalSort.Unfit => StatusCodes.Status422UnprocessableEntity,
            RefusalSort.Conflict => StatusCodes.Status409Conflict,
            RefusalSort.Stale => StatusCodes.Status412PreconditionFailed,
            RefusalSort.Stranger => StatusCodes.Status401Unauthorized,
            RefusalSort.NotAllowed => StatusCodes.Status403Forbidden,
            RefusalSort.Broken => StatusCodes.Status500InternalServerError,
            _ => StatusCodes.Status404NotFound,
        },
        refusal.Code,
        Brief(refusal.Detail))
    {
        Errors = refusal.Field is { } field
            ? new Dictionary<string, string[]> { [Brief(field)] = [Brief(refusal.Detail)] }
            : null,
        Suggestions = refusal.Suggestions.Count > 0 ? refusal.Suggestions : null,
        Open = refusal.OpenItems.Count > 0 ? [.. refusal.OpenItems.Select(o => OpenItemAnswer.Of(o, currency))] : null,
        Shortage = refusal.Shortage is { } s && currency is not null
            ? new ShortageAnswer(
                s.Place.Compartment, s.Place.Holding, currency.ToDecimal(s.Available), currency.ToDecimal(s.Missing),
                s.On,
                [.. s.CouldGive.Select(c => new CouldGiveAnswer(c.Compartment, currency.ToDecimal(c.Available)))])
            : null,
    };

    /// <summary>For an answer without a body that the framework gave: no such address, or not this method.</summary>
    public static Task OfStatus(HttpContext context)
    {
        var status = context.Response.StatusCode;
        var result = status switch
        {
            StatusCodes.Status404NotFound =>
                Of(status, "address-unknown",
                    $"There is nothing at {context.Request.Path}. The OpenAPI document at /openapi.json lists every "
                        + $"address."),
            StatusCodes.Status405MethodNotAllowed =>
                Of(status, "method-unknown",
                    $"{context.Request.Path} does not take {context.Request.Method}. It takes "
                        + $"{context.Response.Headers.Allow}."),
            StatusCodes.Status415UnsupportedMediaType => Of(status, "media-type-unknown", JsonFaults.SendJson),
            _ => Of(status, "malformed", "The request can't be read."),
        };
        return result.ExecuteAsync(context);
    }

    // What was sent is told again in the words of a problem; megabytes of it help nobody.
    private static string Brief(string sentence)
    {
        const int longest = 1000;
        var words = Addresses.Say(sentence);
        return words.Length <= longest
            ? words
            : $"{words[..(char.IsHighSurrogate(words[longest - 1]) ? longest - 1 : longest)]}…";
    }

    private static IResult Of(Exception exception) => exception switch
    {
        MalformedException e => Of(StatusCodes.Status400BadRequest, "malformed", e.Message, e.Errors),
        RefusedException e => Answer(Of(e.Refusal, e.Currency)),
        RefusalException e => Answer(Of(e.Refusal, null)),
        BookBusyException e => Of(StatusCodes.Status503ServiceUnavailable, "book-busy", e.Message),
        ClockBehindException e => Of(StatusCodes.Status503ServiceUnavailable, "clock-behind", e.Message),
        BookMisfitException e => Of(StatusCodes.Status503ServiceUnavailable, "book-misfit", e.Message),
        BookUnavailableException e => Of(StatusCodes.Status503ServiceUnavailable, "storage-failed", e.Message),
        NpgsqlException or TimeoutException =>
            Of(StatusCodes.Status503ServiceUnavailable, "storage-failed",
                "PostgreSQL does not answer just now: send the request again in a few seconds."),
        BadHttpRequestException { StatusCode: StatusCodes.Status413PayloadTooLarge } e =>
            Of(e.StatusCode, "body-too-large", "The request is too large: split it into several."),
        BadHttpRequestException e => Of(e.StatusCode, "malformed", "The request can't be read: " + e.Message),
        _ => Of(StatusCodes.Status500InternalServerError, "unexpected",
            "Something went wrong that should not have; the program's log says more. Nothing is written twice if you "
                + "send it again with the same Idempotency-Key."),
    };

    /// <summary>Turns exceptions into problem answers; only the unexpected ones are logged.</summary>
    internal sealed class Handler(OutageLog outages, ILogger<Handler> logger) : IExceptionHandler
    {
        public async ValueTask<bool> TryHandleAsync(HttpContext httpContext, Exception exception,
            CancellationToken cancellationToken)
        {
            if (exception is OperationCanceledException && httpContext.RequestAborted.IsCancellationRequested)
            {
                return true;
            }

            var result = Of(exception);
            var status = (result as IStatusCodeHttpResult)?.StatusCode;
            if (status is StatusCodes.Status503ServiceUnavailable)
            {
                httpContext.Response.Headers.RetryAfter = "1";
            }

            if (status is StatusCodes.Status401Unauthorized)
            {
                httpContext.Response.Headers.WWWAuthenticate = KeyMiddleware.Challenge;
            }

            // What failed while writing was told by the writer, and a command that broke was logged by it, with its
            // stack.
            if (exception is NpgsqlException or TimeoutException)
            {
                outages.Tell(exception);
            }
            else if (status is StatusCodes.Status500InternalServerError && exception is not RefusedException)
            {
                // The address of a calendar is a secret.
                var path = httpContext.Request.Path;
                logger.LogError(exception, "{Method} {Path} failed.", httpContext.Request.Method,
                    CalendarEndpoint.IsSecret(path) ? CalendarEndpoint.AddressOf("…") : path);
            }

            await result.ExecuteAsync(httpContext).ConfigureAwait(false);
            return true;
        }
    }
}
