using System.Globalization;
using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>When the program fills by itself.</summary>
/// <param name="At">The household's local time on each payday, such as <c>06:30</c>.</param>
/// <param name="From">The first day whose payday it fills, today or later.</param>
/// <param name="DaysAfter">How many days after each payday its cash is drawn, 0 to 27: it is filled and dated then; on
/// the payday if left out.</param>
public sealed record AutomaticFillsRequest(string? At, DateOnly? From, int? DaysAfter = null)
{
    /// <summary>What it asks the book to write.</summary>
    internal SetAutomaticFills ToCommand() => new(
        TimeOnly.ParseExact(At!, AutomaticFillsRequestValidator.TimeForm, CultureInfo.InvariantCulture), From!.Value)
    { DaysAfter = DaysAfter };
}

/// <summary>The next payday that the program fills.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="RunsAt">The instant (UTC).</param>
public sealed record NextFillRunAnswer(DateOnly Payday, DateTimeOffset RunsAt)
{
    /// <summary>The day on which it will stand in the book; absent for the payday itself.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>Why it will be left as things stand.</summary>
    public string? Note { get; init; }
}

/// <summary>A payday that is due by this machine's clock, and is held since nothing else says so.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Reason">Why, and the mend.</param>
public sealed record HeldRunAnswer(DateOnly Payday, string Reason);

/// <summary>What the program did with a payday.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Line">The line that it wrote.</param>
/// <param name="RecordedAt">The instant (UTC) at which it was written.</param>
/// <param name="Outcome">Filled; filled and undone since; or left.</param>
public sealed record AutomaticRunAnswer(DateOnly Payday, long Line, DateTimeOffset RecordedAt, PaydayState Outcome)
{
    /// <summary>The day on which it stands in the book; absent where it was left, and for the payday itself.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>What was filled in all.</summary>
    public decimal? Fills { get; init; }

    /// <summary>Why it was left, and the mend.</summary>
    public string? Reason { get; init; }
}

/// <summary>The automatic fills.</summary>
/// <param name="On">Whether the program fills by itself.</param>
/// <param name="TimeZone">The household's time zone, by whose clocks the time is meant.</param>
/// <param name="Last">What the program did, the latest first; a dozen at most.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record AutomaticFillsAnswer(bool On, string TimeZone, IReadOnlyList<AutomaticRunAnswer> Last,
    long BookLine)
{
    /// <summary>The local time on each payday.</summary>
    public string? At { get; init; }

    /// <summary>The first day whose payday is filled.</summary>
    public DateOnly? From { get; init; }

    /// <summary>How many days after each payday it is filled; absent for the payday itself.</summary>
    public int? DaysAfter { get; init; }

    /// <summary>Paydays that are held, in order and a dozen at most; absent when there are none.</summary>
    public IReadOnlyList<HeldRunAnswer>? Held { get; init; }

    /// <summary>The next payday that is filled; absent when none is known within a year.</summary>
    public NextFillRunAnswer? Next { get; init; }

    internal static string Say(TimeOnly time) => time.ToString("HH:mm", CultureInfo.InvariantCulture);
}

/// <summary>What setting the automatic fills wrote.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="At">The local time on each payday.</param>
/// <param name="From">The first day whose payday is filled.</param>
public sealed record AutomaticFillsSetAnswer(IReadOnlyList<long> Lines, long? EntryId, string At, DateOnly From)
{
    /// <summary>How many days after each payday it is filled; absent for the payday itself.</summary>
    public int? DaysAfter { get; init; }
}

internal sealed class AutomaticFillsRequestValidator : AbstractValidator<AutomaticFillsRequest>
{
    public const string TimeForm = "HH:mm";

    public AutomaticFillsRequestValidator()
    {
        const string needed = "`at` is needed: the household's local time on each payday, written like \"06:30\".";
        RuleFor(r => r.At).NotNull().WithMessage(needed)
            .Must(at => TimeOnly.TryParseExact(at, TimeForm, CultureInfo.InvariantCulture, DateTimeStyles.None, out _))
            .WithMessage(needed);
        RuleFor(r => r.From).NotNull()
            .WithMessage("`from` is needed: the first day whose payday is filled, today or later, such as "
                + "\"2026-12-01\".");
    }
}

internal sealed class AutomaticFillEndpoints : IEndpoints
{
    private const int MostRuns = 12;
    private const string Cautions =
        "Sources that pay as it comes have no amount to go by: such a payday is left to the keeper, and said here.";

    public static void Map(IEndpointRouteBuilder api)
    {
        MapReading(api);
        MapSwitchingOn(api);
        MapSwitchingOff(api);
    }

    private static void MapReading(IEndpointRouteBuilder api) => api
        .MapGet("/automatic-fills",
            async (HttpContext http, Caller caller, FillRunReader fillRuns, AutomaticFillRuns running, LineReader lines,
                TimeProvider clock) =>
            {
                Reads.OnlyTakes(http);
                var book = await fillRuns.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var runs = await lines.ReadAsync(caller.Household,
                    new LineFilter(0, int.MaxValue, By: AutomaticFills.Writer), http.RequestAborted)
                    .ConfigureAwait(false);
                var now = clock.GetUtcNow();
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(new AutomaticFillsAnswer(
                    book.AutomaticFills is not null, book.Household!.TimeZone,
                    [.. runs.Where(r => r.Number <= book.Line).TakeLast(MostRuns).Reverse().Select(r => Run(r, book))],
                    book.Line)
                {
                    At = book.AutomaticFills is { } fills ? AutomaticFillsAnswer.Say(fills.At) : null,
                    From = book.AutomaticFills?.From,
                    DaysAfter = book.AutomaticFills?.DaysAfter,
                    Held = running.Held(caller.Household) is { Count: > 0 } held
                        ? [.. held.Take(MostRuns).Select(h => new HeldRunAnswer(h.Payday, h.Reason))]
                        : null,
                    Next = AutomaticFillRuns.ToCome(book, book.FillRuns, book.Household.DateAt(now).AddYears(1))
                        .Select(run => Next(run.Payday, run.At, book)).FirstOrDefault(),
                });
            })
        .Produces<AutomaticFillsAnswer>()
        .RefusesReads()
        .WithSummary("Whether the program fills by itself, when it does next, and what it did or left")
        .WithDescription(Cautions)
        .WithExample(null, """
            {"on": true, "timeZone": "Europe/Dublin",
             "last": [
               {"payday": "2027-02-26", "line": 208, "recordedAt": "2027-02-26T06:30:12.410332Z", "outcome": "filled", "fills": 210.00},
               {"payday": "2027-02-12", "line": 197, "recordedAt": "2027-02-12T06:30:41.003127Z", "outcome": "left", "reason": "net-mending pays on 2027-02-12 as it comes: send `pay`, what was paid in all."}],
             "bookLine": 208, "at": "06:30", "from": "2026-12-01", "next": {"payday": "2027-03-31", "runsAt": "2027-03-31T05:30:00Z"}}
            """);

    private static void MapSwitchingOn(IEndpointRouteBuilder api) => api
        .MapPut("/automatic-fills",
            async (HttpContext http, Caller caller, Body<AutomaticFillsRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var command = sent.ToCommand();
                var (entry, _) = await desk.WriteAsync(http, command, "automatic fills", sent).ConfigureAwait(false);
                return TypedResults.Ok(new AutomaticFillsSetAnswer(entry.Lines, entry.Id,
                    AutomaticFillsAnswer.Say(command.At), command.From)
                { DaysAfter = sent.DaysAfter is > 0 ? sent.DaysAfter : null });
            })
        .Accepts<AutomaticFillsRequest>("application/json")
        .Produces<AutomaticFillsSetAnswer>()
        .RefusesWrites()
        .WithSummary("Let the program fill each payday by itself, at a local time")
        .WithDescription("While the program runs, each payday is filled within a minute of that time. What "
                + "was missed meanwhile is done when the program starts, each payday once, in order. A run is "
                + "dated on the payday, or `daysAfter` days after it. The lines "
                + $"carry the name \"{AutomaticFills.Writer}\". A run that is undone is not done again by itself, "
                + "unless it was undone before its payday came. A second witness tells the time too: steady time "
                + "since the last look, the database's clock on another machine, or the lines of the book. What "
                + $"is more than a day ahead of it is held, and GET says why. {Cautions}")
        .WithExample(
            """{"at": "06:30", "from": "2026-12-01"}""",
            """{"lines": [74], "entryId": 74, "at": "06:30", "from": "2026-12-01"}""");

    private static void MapSwitchingOff(IEndpointRouteBuilder api) => api
        .MapDelete("/automatic-fills", async (HttpContext http, Caller caller, WriteDesk desk) =>
        {
            Reads.OnlyTakes(http);
            caller.MustKeep();
            await desk.WriteAsync(http, new StopAutomaticFills(), "stop automatic fills", "").ConfigureAwait(false);
            return TypedResults.NoContent();
        })
        .Produces(StatusCodes.Status204NoContent)
        .RefusesWrites()
        .WithSummary("Let the program fill no more by itself")
        .WithExample(null, null);

    private static NextFillRunAnswer Next(DateOnly payday, DateTimeOffset at, Book book)
    {
        var next = new NextFillRunAnswer(payday, at)
        { OccurredOn = book.AutomaticFills!.DayOf(payday) is var day && day != payday ? day : null };
        try
        {
            new FillPayday(payday, null, null, HouseholdCalendar.Of).WorkOut(book);
            return next;
        }
        catch (RefusalException refused)
        {
            return next with { Note = Addresses.Say(refused.Refusal.Detail) };
        }
    }

    private static AutomaticRunAnswer Run(BookLine line, Book book) => line.Event is PaydayLeft left
        ? new AutomaticRunAnswer(left.Payday, line.Number, line.RecordedAt, PaydayState.Left) { Reason = left.Reason }
        : new AutomaticRunAnswer(((PaydayFilled)line.Event).Run.Payday, line.Number, line.RecordedAt,
            line.ReversedBy is null ? PaydayState.Filled : PaydayState.Undone)
        {
            OccurredOn = ((PaydayFilled)line.Event) is var filled && filled.OccurredOn != filled.Run.Payday
                ? filled.OccurredOn
                : null,
            Fills = book.Currency.ToDecimal(((PaydayFilled)line.Event).Run.Filled),
        };
}

/// <summary>A line of the kind <c>automaticFills</c>.</summary>
public sealed record AutomaticFillsLine : LineAnswer, ILineOf<AutomaticFillsSet>
{
    /// <summary>The household's local time at which the program fills by itself, such as <c>06:30</c>.</summary>
    public required string FillsAt { get; init; }

    /// <summary>The first day whose payday the program fills by itself.</summary>
    public required DateOnly FillsFrom { get; init; }

    /// <summary>How many days after each payday the program fills; absent for the payday itself.</summary>
    public int? FillsDaysAfter { get; init; }

    static LineAnswer ILineOf<AutomaticFillsSet>.Of(AutomaticFillsSet e, LineTelling told) =>
        new AutomaticFillsLine
        {
            FillsAt = AutomaticFillsAnswer.Say(e.At),
            FillsFrom = e.From,
            FillsDaysAfter = e.DaysAfter
        };
}

/// <summary>A line of the kind <c>automaticFillsStopped</c>.</summary>
public sealed record AutomaticFillsStoppedLine : LineAnswer, ILineOf<AutomaticFillsStopped>
{
    static LineAnswer ILineOf<AutomaticFillsStopped>.Of(AutomaticFillsStopped e, LineTelling told) =>
        new AutomaticFillsStoppedLine();
}

/// <summary>A line of the kind <c>paydayLeft</c>.</summary>
public sealed record PaydayLeftLine : LineAnswer, ILineOf<PaydayLeft>
{
    /// <summary>The payday that a fill run fills, is undone for, or that is left.</summary>
    public required DateOnly Payday { get; init; }

    /// <summary>
    /// Why it stands in the stead of what a reversal has undone; beside other corrections the reversal says why. Why
    /// the program leaves a payday.
    /// </summary>
    public required string Reason { get; init; }

    static LineAnswer ILineOf<PaydayLeft>.Of(PaydayLeft e, LineTelling told) =>
        new PaydayLeftLine { Payday = e.Payday, Reason = e.Reason };
}
