using System.Net.Mime;

namespace CashEvents.Api.Books;

internal sealed class FeedEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/feed", async (HttpContext http, Caller caller, string? after, Feed feed, BookReader books) =>
        {
            Reads.OnlyTakes(http, "after");
            var heard = Heard(http, after);
            var last = (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false)).Line;
            if (heard > last)
            {
                throw Refusal.NotFound("line-unknown",
                    $"There is no line {heard}: the book's last is {last}. If it was "
                    + "restored from a backup, read it anew.");
            }

            using var place = feed.Open(caller, http, out var refusal);
            if (place is null)
            {
                return refusal!;
            }

            http.Response.ContentType = MediaTypeNames.Text.EventStream;
            // A proxy that collects what it passes on would pass on nothing for long.
            http.Response.Headers["X-Accel-Buffering"] = "no";
            if (!Methods.AsksForHeadersOnly(http))
            {
                await feed.SendAsync(http, caller, heard ?? last).ConfigureAwait(false);
            }

            return TypedResults.Empty;
        })
        .Produces<string>(StatusCodes.Status200OK, MediaTypeNames.Text.EventStream)
        .RefusesReads(StatusCodes.Status404NotFound)
        .HasNoTag()
        .WithSummary("The book's lines as they are written")
        .WithDescription("Server-sent events (WHATWG HTML). `id` is the line's number, `event` its kind, `data` the "
            + "line as /api/lines/{n} tells it. Who comes back with `Last-Event-ID` misses none and gets none twice. "
            + $"A key may keep {Feed.MostOfAKey} streams open. docs/hearing.md says more.")
        .WithParameter("after", "Begin with the line after this one; with the next that is written if left out.", "52",
            ParameterForm.Number(Reads.AfterLine))
        .NotToTry("it does not end.")
        .WithExample(null, null);

    // A browser comes back to the same address: what it has heard since goes before.
    private static long? Heard(HttpContext http, string? after) =>
        http.Request.Headers["Last-Event-ID"].FirstOrDefault() is { Length: > 0 } heard
            ? Reads.Number(heard, "Last-Event-ID", Reads.AfterLine)
            : after is null ? null : Reads.Number(after, "after", Reads.AfterLine);
}
