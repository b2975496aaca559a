using FluentValidation;

namespace CashEvents.Api.Books;

/// <summary>That this machine's clock was ahead, and is right now.</summary>
/// <param name="Today">Today's date by a calendar on the wall, which the clock must agree with.</param>
/// <param name="Reason">What had happened.</param>
public sealed record ClockCorrectionRequest(DateOnly? Today, string? Reason);

/// <summary>A line that stands on a day to come.</summary>
/// <param name="Line">Its number.</param>
/// <param name="Kind">What it says, such as <c>fillRun</c>.</param>
/// <param name="OccurredOn">The day that it stands on.</param>
public sealed record DatedAheadAnswer(long Line, string Kind, DateOnly OccurredOn);

/// <summary>What was written of a clock that was ahead.</summary>
/// <param name="Lines">The line that says so.</param>
/// <param name="EntryId">Its entry.</param>
/// <param name="FromLine">The first line that was stamped by that clock.</param>
/// <param name="ToLine">The last.</param>
/// <param name="DatedAhead">Those of them that stand on a day to come and are not undone: reverse each, or amend it
/// with the right day. A thousand at most.</param>
public sealed record ClockCorrectionAnswer(IReadOnlyList<long> Lines, long EntryId, long FromLine, long ToLine,
    IReadOnlyList<DatedAheadAnswer> DatedAhead);

internal sealed class ClockCorrectionRequestValidator : AbstractValidator<ClockCorrectionRequest>
{
    public ClockCorrectionRequestValidator() =>
        RuleFor(r => r.Today).NotNull()
            .WithMessage("`today` is needed: today's date by a calendar on the wall, such as \"2026-11-16\".");
}

internal sealed class ClockCorrectionEndpoint : IEndpoints
{
    private const int MostDatedAhead = 1000;

    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/clock-corrections",
            async (HttpContext http, Caller caller, Body<ClockCorrectionRequest> body, WriteDesk desk, BookReader books,
                LineReader lines, TimeProvider clock) =>
        {
            caller.MustKeep();
            var sent = body.Value;
            var (first, last) = await books.StampedAfterAsync(caller.Household, clock.GetUtcNow(), http.RequestAborted)
                .ConfigureAwait(false);
            var (entry, _) = await desk.WriteAsync(http,
                new SayClockWasAhead(first, last, sent.Today!.Value, sent.Reason), "clock correction", sent)
                .ConfigureAwait(false);
            var written = (await lines.FindAsync(caller.Household, entry.Id!.Value, http.RequestAborted)
                .ConfigureAwait(false))!;
            var said = (ClockWasAhead)written.Event;
            var dated = await lines.ReadAsync(caller.Household,
                new LineFilter(said.FromLine - 1, MostDatedAhead, From: said.On.AddDays(1)), http.RequestAborted)
                .ConfigureAwait(false);
            return TypedResults.Created($"/api/lines/{written.Number}",
                new ClockCorrectionAnswer(entry.Lines, written.EntryId, said.FromLine, said.ToLine,
                [.. dated.Where(l => said.IsAbout(l.Number) && l.Event is not Reversed
                    && (l.ReversedBy ?? long.MaxValue) > written.Number)
                    .Select(l => new DatedAheadAnswer(l.Number, l.Kind, ((IDatedEvent)l.Event).OccurredOn))]));
        })
        .Accepts<ClockCorrectionRequest>("application/json")
        .Produces<ClockCorrectionAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Say that lines stamped later than now were stamped by a clock that was ahead, so that "
            + "writing goes on")
        .WithDescription("While the book's last line is later than the clock, nothing else is written. Set the clock "
            + "right, "
            + "then send this, with today's date as a second witness. The lines keep their `recordedAt` and hashes, "
            + "and are marked with the line that says so (`clockAhead`). Asked for an instant (`at`), they count as "
            + "written just before that line.")
        .NotToTry("it puts right what a wrong clock has stamped.")
        .WithExample(
            """{"today": "2026-11-16", "reason": "The battery of the clock was replaced, and the year was set wrong"}""",
            """{"lines": [64], "entryId": 64, "fromLine": 62, "toLine": 63, "datedAhead": [{"line": 62, "kind": "fillRun", "occurredOn": "2026-11-30"}]}""");
}

/// <summary>A line of the kind <c>clockWasAhead</c>.</summary>
public sealed record ClockWasAheadLine : LineAnswer, ILineOf<ClockWasAhead>
{
    /// <summary>The first line that was stamped by a clock that was ahead.</summary>
    public required long FromLine { get; init; }

    /// <summary>The last line that was stamped by that clock.</summary>
    public required long ToLine { get; init; }

    /// <summary>The household's date on which that was said, by a clock that was set right.</summary>
    public required DateOnly On { get; init; }

    static LineAnswer ILineOf<ClockWasAhead>.Of(ClockWasAhead e, LineTelling told) =>
        new ClockWasAheadLine { FromLine = e.FromLine, ToLine = e.ToLine, On = e.On, Description = e.Reason };
}
