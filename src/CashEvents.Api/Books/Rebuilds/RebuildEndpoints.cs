using System.Net.ServerSentEvents;
using System.Runtime.CompilerServices;
using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Books;

/// <summary>A field that did not say what the lines give.</summary>
/// <param name="Document">Where it stands: a table, or the page of the book.</param>
/// <param name="Key">Which of its rows; empty for the page.</param>
/// <param name="Field">Which field; <c>*</c> for a whole row that was missing or should not have been there.</param>
/// <param name="Kept">What it said, as JSON; absent when there was nothing.</param>
/// <param name="Rebuilt">What the lines give, as JSON; absent when there should be nothing.</param>
public sealed record DriftAnswer(string Document, string Key, string Field, string? Kept, string? Rebuilt);

/// <summary>A rebuild and how it stands.</summary>
/// <param name="Id">By which it is asked after.</param>
/// <param name="Status">Running, done or failed.</param>
/// <param name="Lines">Lines taken in so far.</param>
/// <param name="BookLine">The line at which the book stood when it began; 0 until it has.</param>
/// <param name="StartedAt">The instant (UTC) at which it began.</param>
/// <param name="EndedAt">The instant at which it ended.</param>
public sealed record RebuildAnswer(string Id, RebuildStatus Status, long Lines, long BookLine, DateTimeOffset StartedAt,
    DateTimeOffset? EndedAt)
{
    /// <summary>How many fields did not say what the lines give; absent while it runs.</summary>
    public int? Drifts { get; init; }

    /// <summary>The first thousand of them.</summary>
    public IReadOnlyList<DriftAnswer>? Drift { get; init; }

    /// <summary>Whether the tables were put right; false when there was nothing to put right.</summary>
    public bool? Switched { get; init; }

    /// <summary>A rebuild in this API's words.</summary>
    internal static RebuildAnswer Of(RebuildJob job) =>
        new(job.Id, job.Status, job.Progress.Lines, job.Progress.Of, job.StartedAt, job.EndedAt)
        {
            Drifts = job.Finding?.Drifts.Count,
            Drift = job.Finding is { } finding
            ? [.. finding.Drifts.Take(1000).Select(d => new DriftAnswer(d.Document, d.Key, d.Field, d.Kept, d.Rebuilt))]
            : null,
            Switched = job.Finding?.Switched,
        };
}

internal sealed class RebuildEndpoints : IEndpoints
{
    private static readonly TimeSpan BetweenEvents = TimeSpan.FromMilliseconds(250);

    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapPost("/rebuilds", (HttpContext http, Caller caller, RebuildDesk desk) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                var job = desk.Start(caller.Household);
                return TypedResults.Accepted($"/api/rebuilds/{job.Id}", RebuildAnswer.Of(job));
            })
            .Produces<RebuildAnswer>(StatusCodes.Status202Accepted)
            .HasNoTag()
            .RefusesWith(StatusCodes.Status400BadRequest, StatusCodes.Status401Unauthorized,
                StatusCodes.Status403Forbidden, StatusCodes.Status429TooManyRequests,
                StatusCodes.Status503ServiceUnavailable)
            .WithSummary("Rebuild everything that is kept beside the lines, compare, and put right what differs")
            .WithDescription("Reading and writing go on meanwhile. Writers wait only while something that "
                + "differs is put right. While a rebuild runs, a second request gets its address. Writes no line.")
            .WithExample(null,
                """{"id": "0d3f3c5e8a7b4c1f9e2d6a5b4c3d2e1f", "status": "running", "lines": 0, "bookLine": 0, "startedAt": "2026-11-25T09:30:00.000000+00:00"}""");

        api.MapGet("/rebuilds/{id}", (HttpContext http, Caller caller, string id, RebuildDesk desk) =>
            {
                Reads.OnlyTakes(http);
                var job = desk.Find(caller.Household, id)
                    ?? throw Refusal.NotFound("rebuild-unknown",
                        $"There is no rebuild '{id}': only the last since the program started is remembered. POST "
                            + $"/api/rebuilds starts one.");
                http.Response.Headers.Append(HeaderNames.Vary, HeaderNames.Accept);
                return http.Request.GetTypedHeaders().Accept?.Any(a => a.MediaType == "text/event-stream") is true
                    ? (IResult)TypedResults.ServerSentEvents(Follow(job, http.RequestAborted))
                    : TypedResults.Ok(RebuildAnswer.Of(job));
            })
            .Produces<RebuildAnswer>(StatusCodes.Status200OK, "application/json", "text/event-stream")
            .HasNoTag()
            .RefusesReads(StatusCodes.Status404NotFound)
            .WithSummary("How a rebuild stands, and what it found")
            .WithDescription("With `Accept: text/event-stream` it is told as server-sent events, `progress` while it "
                + "runs and `ended` last.")
            .WithParameter("id", "The rebuild's id.", "0d3f3c5e8a7b4c1f9e2d6a5b4c3d2e1f")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(null, """
                {"id": "0d3f3c5e8a7b4c1f9e2d6a5b4c3d2e1f", "status": "done", "lines": 812, "bookLine": 812, "startedAt": "2026-11-25T09:30:00.000000+00:00", "endedAt": "2026-11-25T09:30:01.000000+00:00",
                 "drifts": 1, "drift": [{"document": "day_closing", "key": "ferry-fares/cash/2026-11-03", "field": "closing", "kept": "6300", "rebuilt": "6400"}], "switched": true}
                """);
    }

    private static async IAsyncEnumerable<SseItem<RebuildAnswer>> Follow(RebuildJob job,
        [EnumeratorCancellation] CancellationToken gone)
    {
        var told = -1L;
        while (!job.Ended.IsCompleted)
        {
            if (job.Progress.Lines != told)
            {
                told = job.Progress.Lines;
                yield return new SseItem<RebuildAnswer>(RebuildAnswer.Of(job), "progress");
            }

            await Task.WhenAny(job.Ended, Task.Delay(BetweenEvents, gone)).ConfigureAwait(false);
            gone.ThrowIfCancellationRequested();
        }

        yield return new SseItem<RebuildAnswer>(RebuildAnswer.Of(job), "ended");
    }
}
