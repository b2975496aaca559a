namespace CashEvents.Api.Counts;

internal sealed class ExplanationEndpoint : IEndpoints
{
    /// <summary>The most explanations that are listed.</summary>
    public const int MostLimit = 20;

    private static readonly Bounds _limits = new(1, MostLimit, 5);

    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/counts/{id:long}/explanations",
            async (HttpContext http, Caller caller, long id, string? limit, Explaining explaining) =>
        {
            Reads.OnlyTakes(http, "limit");
            var most = (int)Reads.Number(limit, "limit", _limits);
            var (book, explained) = await explaining.ExplainAsync(caller.Household, id, most, http.RequestAborted)
                .ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(ExplanationsAnswer.Of(explained, book));
        })
        .IsHeavy()
        .Produces<ExplanationsAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound, StatusCodes.Status409Conflict)
        .WithSummary("Explain a count that disagrees: what probably happened, and the request that puts it right")
        .WithDescription("Weighs what may have made the count disagree: single mistakes, two at once, and what was "
            + "lost or found. It reads the lines since the last count of the place that agreed. Those of the "
            + $"{ExplainedCount.DaysBefore} days before it are read too, and of the {ExplainedCount.DaysAfter} days "
            + $"after this one; at most {ExplainedCount.MostLines}. Three mistakes are beyond it. "
            + "Counts of one day are weighed as "
            + "one: `together` is what most likely makes all of them agree. Each explanation was rehearsed. Nothing is "
            + "written until its requests are sent, or the count is settled with its code. Look at the lines in "
            + "`mayBe` first: a code that has `-beside-` says that it is none of them. Only who was there knows what "
            + "happened.")
        .WithParameter("id", "The count's id, the number of its line.", "98")
        .WithParameter("limit",
            $"At most so many explanations, {_limits.Least} to {_limits.Most}; "
                + $"{_limits.Otherwise} if left out.", "3", ParameterForm.Number(_limits))
        .WithExample(null, """
            {"countId": 61, "compartment": "ferry-fares", "holding": "cash", "occurredOn": "2026-11-06", "expected": 64.00, "counted": 72.40, "difference": 8.40, "linesLookedAt": 9,
             "explanations": [
               {"explanation": "recordedTwice-53", "likelihood": 0.9312, "counts": [61],
                "why": "The whole of it, 8.40 EUR, stands in line 53, and line 52 says the same.", "look": "Look whether there are two tickets for 2026-11-03.",
                "mistakes": [{"kind": "recordedTwice", "says": "One movement was recorded twice, in line 52 and in line 53 (spend of 8.40 EUR on 2026-11-03, \"Return to the mainland\").",
                  "test": "The difference itself: look for an item that was carried twice.", "lines": [53, 52], "effects": [{"compartment": "ferry-fares", "holding": "cash", "difference": 8.40}]}],
                "requests": [{"method": "POST", "path": "/api/lines/53/reversal", "body": {"reason": "Recorded twice, also in line 52"}}]}],
             "somethingElse": 0.0688, "bookLine": 61, "since": "2026-10-31"}
            """);
}
