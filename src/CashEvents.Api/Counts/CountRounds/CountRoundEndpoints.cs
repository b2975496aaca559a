using System.Globalization;
using FluentValidation;

namespace CashEvents.Api.Counts;

/// <summary>
/// What a round of counts is to count; all compartments in use if neither wallet nor purpose is named.
/// </summary>
/// <param name="Wallet">Only compartments of this wallet.</param>
/// <param name="Purpose">Only compartments with this purpose.</param>
/// <param name="Blind">Hide what is expected until a figure is in; false if left out.</param>
/// <param name="Figures">What was found already, to be written in the same entry; none if left out.</param>
/// <param name="Witness">Who else was there when these were counted.</param>
/// <param name="Close">Close it in the same entry; goes with <c>figures</c>.</param>
/// <param name="Reason">What to write beside its closing; needed when something is not counted.</param>
public sealed record CountRoundRequest(string? Wallet, Purpose? Purpose, bool? Blind,
    IReadOnlyList<FigureRequest>? Figures = null, string? Witness = null, bool? Close = null, string? Reason = null)
{
    internal ICommand ToCommand(string by)
    {
        var round = new OpenCountRound(Wallet, Purpose, Blind ?? false);
        return Figures is null ? round
            : new CountAtOnce(round, [.. Figures.Select(figure => figure.ToCommand(Witness))], by)
            { Closes = Close is true, Reason = Reason };
    }
}

/// <summary>A figure that a round is opened with. It was counted just now.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Total">What was found; or else the denominations.</param>
/// <param name="Denominations">How many of each note and coin, as <c>{"20": 3, "0.50": 5}</c>.</param>
/// <param name="Description">What to write beside it, at most 200 characters.</param>
/// <param name="Carried">Whether what somebody carries of it was counted too. Needed only while they do, and if left
/// out, yes when the sender's key is the carrier's own.</param>
public sealed record FigureRequest(string? Compartment, decimal? Total,
    IReadOnlyDictionary<string, long>? Denominations, string? Description, bool? Carried)
{
    internal RecordCount ToCommand(string? witness) =>
        new(Compartment!, Holding.Cash, Total, Denominations, null, witness, Description)
        { Hands = new Hands(Carried: Carried) };
}

/// <summary>A figure of a round: the notes and coins found in one of its compartments.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Total">What was found; or else the denominations.</param>
/// <param name="Denominations">How many of each note and coin, as <c>{"20": 3, "0.50": 5}</c>.</param>
/// <param name="CountedAt">The instant at which it was counted, with its offset from UTC; now if left out. What was
/// recorded since and happened on that day is taken to have happened after the count.</param>
/// <param name="AtLine">Instead of the instant: the last line of the book that had happened when it was counted,
/// today.</param>
/// <param name="Witness">Who else was there.</param>
/// <param name="Description">What to write beside it, at most 200 characters.</param>
/// <param name="Carried">Whether what somebody carries of it was counted too. Needed only while they do, and if left
/// out, yes when the sender's key is the carrier's own.</param>
public sealed record RoundCountRequest(
    string? Compartment, decimal? Total, IReadOnlyDictionary<string, long>? Denominations, string? CountedAt,
    long? AtLine, string? Witness, string? Description, bool? Carried);

/// <summary>A second person's confirmation of figures.</summary>
/// <param name="Compartments">Which; every figure that another key wrote and nobody confirmed yet if left out.</param>
public sealed record ConfirmationRequest(IReadOnlyList<string>? Compartments);

/// <summary>Closes a round of counts.</summary>
/// <param name="Reason">What to write beside it, at most 200 characters; needed when something is not counted.</param>
public sealed record CountRoundCloseRequest(string? Reason);

internal sealed class FigureRequestValidator : AbstractValidator<FigureRequest>
{
    public FigureRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Total).Must((r, total) => total is null != r.Denominations is null)
            .WithMessage("Send either `total`, or `denominations` such as {\"20\": 3, \"0.50\": 5}.");
        RuleFor(r => r.Total).GreaterThanOrEqualTo(0m).WithMessage("`total` is what was found: zero or more.");
    }
}

internal sealed class CountRoundRequestValidator : AbstractValidator<CountRoundRequest>
{
    public CountRoundRequestValidator()
    {
        RuleFor(r => r.Figures)
            .Must(figures => figures!.Count is > 0 and <= OpenCompartment.Most && figures.All(f => f is not null))
            .WithMessage($"`figures` lists 1 to {OpenCompartment.Most} figures: leave it out to open a round without.")
            .Must(figures => figures!.DistinctBy(f => f.Compartment).Count() == figures!.Count)
            .WithMessage("`figures` names a compartment twice: send one figure of each.")
            .When(r => r.Figures is not null);
        RuleForEach(r => r.Figures).SetValidator(new FigureRequestValidator())
            .When(r => r.Figures?.All(f => f is not null) is true);
        RuleFor(r => r.Witness).Null().When(r => r.Figures is null)
            .WithMessage("`witness` goes with `figures`.");
        RuleFor(r => r.Close).NotEqual(true).When(r => r.Figures is null)
            .WithMessage("`close` goes with `figures`.");
        RuleFor(r => r.Reason).Null().When(r => r.Close is not true)
            .WithMessage("`reason` goes with `close`.");
    }
}

internal sealed class RoundCountRequestValidator : AbstractValidator<RoundCountRequest>
{
    public RoundCountRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Total).Must((r, total) => total is null != r.Denominations is null)
            .WithMessage("Send either `total`, or `denominations` such as {\"20\": 3, \"0.50\": 5}.");
        RuleFor(r => r.Total).GreaterThanOrEqualTo(0m).WithMessage("`total` is what was found: zero or more.");
        RuleFor(r => r.AtLine).Must((r, line) => line is null || r.CountedAt is null)
            .WithMessage("`countedAt` and `atLine` both say when it was counted: send one of them.");
        RuleFor(r => r.AtLine).GreaterThan(0).WithMessage("`atLine` is the number of a line.");
    }
}

internal sealed class CountRoundEndpoints : IEndpoints
{
    private static readonly Bounds _limits = new(1, 1000, 100);

    private const string RoundExample = """
        {"round": {"id": 70, "state": "open", "blind": true, "openedAt": "2026-11-15T18:00:00+00:00", "openedBy": "keeper", "counted": ["ferry-fares"], "toCount": ["market-days"], "wallet": "oilskin-wallet"},
         "currency": "EUR",
         "compartments": [
           {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "expected": 64.00, "counted": 63.00, "difference": -1.00,
            "countId": 72, "countedOn": "2026-11-15", "atLine": 70, "by": "keeper", "confirmedBy": "partner",
            "denominations": [{"value": 20.00, "count": 3}, {"value": 2.00, "count": 1}, {"value": 0.50, "count": 2}]},
           {"compartment": "market-days", "label": "Market days", "wallet": "oilskin-wallet"}],
         "wallets": [{"wallet": "oilskin-wallet", "label": "Oilskin wallet", "total": {"counted": 63.00, "expected": 64.00, "difference": -1.00,
           "denominations": [{"value": 20.00, "count": 3, "amount": 60.00}, {"value": 2.00, "count": 1, "amount": 2.00}, {"value": 0.50, "count": 2, "amount": 1.00}], "withoutDenominations": 0.00}}],
         "total": {"counted": 63.00, "expected": 64.00, "difference": -1.00,
           "denominations": [{"value": 20.00, "count": 3, "amount": 60.00}, {"value": 2.00, "count": 1, "amount": 2.00}, {"value": 0.50, "count": 2, "amount": 1.00}], "withoutDenominations": 0.00},
         "bookLine": 73}
        """;

    public static void Map(IEndpointRouteBuilder api)
    {
        MapReading(api);
        MapOpening(api);
        MapCounting(api);
        MapConfirming(api);
        MapClosing(api);
    }

    private static void MapOpening(IEndpointRouteBuilder api) => api
        .MapPost("/count-rounds",
            async (HttpContext http, Caller caller, Body<CountRoundRequest> body, WriteDesk desk) =>
            {
                caller.MustBeAllowed(MovementKind.Count);
                var sent = body.Value;
                var (entry, _) = await desk.WriteAsync(http, sent.ToCommand(caller.Name), "count round", sent)
                    .ConfigureAwait(false);
                return TypedResults.Created($"/api/count-rounds/{entry.Id}", Written(entry, entry.Id!.Value));
            })
        .Accepts<CountRoundRequest>("application/json")
        .Produces<CountRoundEntryAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Open a round of counts: of a wallet, of a purpose, or of all compartments")
        .WithDescription("In a blind round no answer of the round tells what is expected until the figure is "
                + "in. That is common practice where cash is counted. A compartment is in one open round at "
                + "most. The round stays open until it is closed, whatever interrupts it. With `figures` it is opened "
                + "and counted in one entry, all or nothing, and with `close` closed too.")
        .WithExample(
            """{"wallet": "oilskin-wallet", "blind": true}""",
            """{"lines": [70], "entryId": 70, "id": 70, "counted": [], "notCounted": ["ferry-fares", "market-days"], "confirmed": []}""");

    private static void MapCounting(IEndpointRouteBuilder api) => api
        .MapPost("/count-rounds/{id:long}/counts",
            async (HttpContext http, Caller caller, long id, Body<RoundCountRequest> body, WriteDesk desk,
                BookReader books, LineReader lines, TimeProvider clock) =>
            {
                caller.MustBeAllowed(MovementKind.Count);
                var sent = body.Value;
                var (day, atLine) = sent.CountedAt is null
                    ? (null, sent.AtLine)
                    : await MomentAsync(caller.Household, id, sent.CountedAt, books, lines, clock, http.RequestAborted)
                        .ConfigureAwait(false);
                var figure = new RecordCount(sent.Compartment!, Holding.Cash, sent.Total, sent.Denominations, day,
                    sent.Witness, sent.Description)
                { Hands = new Hands(Carried: sent.Carried) };
                var (entry, currency) = await desk.WriteAsync(http, new CountInRound(id, figure, atLine, caller.Name),
                    $"count in round {id}", sent).ConfigureAwait(false);
                var count = entry.Count!;
                decimal Say(Money money) => currency!.ToDecimal(money);
                return TypedResults.Created($"/api/lines/{entry.Id}", new RoundCountAnswer(
                    entry.Lines, entry.Id!.Value, id, entry.Balances[0].Place.Compartment, count.Line, count.OccurredOn,
                    count.AtLine, Say(count.Expected), Say(count.Counted), Say(count.Difference)));
            })
        .Accepts<RoundCountRequest>("application/json")
        .Produces<RoundCountAnswer>(StatusCodes.Status201Created)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Record what was found in a compartment of a round, by total or by denomination")
        .WithDescription("An ordinary count, compared with the balance at its own moment. `countedAt` is "
                + "that moment. A movement of the same day that was recorded after it counts as later. One that "
                + "is dated before that day counts as found. Where the book's order differs from what happened, "
                + "`atLine` names the last line that had happened. Counted again, the new figure replaces the "
                + "earlier one, which is still told. A confirmation is void then.")
        .WithParameter("id", "The round's id.", "70")
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(
            """{"compartment": "ferry-fares", "denominations": {"20": 3, "2": 1, "0.50": 2}, "countedAt": "2026-11-15T18:05:00Z"}""",
            """{"lines": [72], "entryId": 72, "round": 70, "compartment": "ferry-fares", "countId": 72, "countedOn": "2026-11-15", "atLine": 70, "expected": 64.00, "counted": 63.00, "difference": -1.00}""");

    private static void MapConfirming(IEndpointRouteBuilder api) => api
        .MapPost("/count-rounds/{id:long}/confirmations",
            async (HttpContext http, Caller caller, long id, Body<ConfirmationRequest> body, WriteDesk desk) =>
            {
                caller.MustBeAllowed(MovementKind.Count);
                var sent = body.Value;
                var (entry, _) = await desk.WriteAsync(http, new ConfirmCounts(id, sent.Compartments, caller.Name),
                    $"confirmation of round {id} by {caller.Name}", sent).ConfigureAwait(false);
                var answer = Written(entry, id);
                return entry.Id is null
                    ? (IResult)TypedResults.Ok(
                        answer with { Note = "There is no figure that is not confirmed already. Nothing was written." })
                    : TypedResults.Created($"/api/lines/{entry.Id}", answer);
            })
        .Accepts<ConfirmationRequest>("application/json")
        .Produces<CountRoundEntryAnswer>(StatusCodes.Status201Created)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Confirm figures of a round as a second person, with a key of one's own")
        .WithDescription("The key that wrote a figure can't confirm it. Two people at a count are common "
                + "practice where cash is handled.")
        .WithParameter("id", "The round's id.", "70")
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(
            """{"compartments": ["ferry-fares"]}""",
            """{"lines": [73], "entryId": 73, "id": 70, "counted": ["ferry-fares"], "notCounted": ["market-days"], "confirmed": ["ferry-fares"]}""");

    private static void MapClosing(IEndpointRouteBuilder api) => api
        .MapPost("/count-rounds/{id:long}/close",
            async (HttpContext http, Caller caller, long id, Body<CountRoundCloseRequest> body, WriteDesk desk) =>
            {
                caller.MustBeAllowed(MovementKind.Count);
                var (entry, _) = await desk.WriteAsync(http, new CloseCountRound(id, body.Value.Reason),
                    $"close round {id}", body.Value).ConfigureAwait(false);
                return TypedResults.Created($"/api/count-rounds/{id}", Written(entry, id));
            })
        .Accepts<CountRoundCloseRequest>("application/json")
        .Produces<CountRoundEntryAnswer>(StatusCodes.Status201Created)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Close a round of counts; with a reason it is given up before all is counted")
        .WithDescription("The counts stay, and are settled as any other.")
        .WithParameter("id", "The round's id.", "70")
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(
            """{"reason": "The market bag is at the harbour"}""",
            """{"lines": [74], "entryId": 74, "id": 70, "counted": ["ferry-fares"], "notCounted": ["market-days"], "confirmed": ["ferry-fares"]}""");

    private static void MapReading(IEndpointRouteBuilder api)
    {
        MapList(api);
        MapOne(api);
        MapSheet(api);
    }

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/count-rounds",
            async (HttpContext http, Caller caller, string? after, string? limit, CountRoundReader rounds) =>
            {
                Reads.OnlyTakes(http, "after", "limit");
                var most = (int)Reads.Number(limit, "limit", _limits);
                // One more than asked for tells whether there is a next page.
                var (book, open, closed) =
                    await rounds.ListAsync(caller.Household, Reads.Number(after, "after", Reads.AfterLine), most + 1,
                        http.RequestAborted).ConfigureAwait(false);
                var page = closed.Take(most).ToList();
                var next = closed.Count > most
                    ? string.Create(CultureInfo.InvariantCulture,
                        $"/api/count-rounds?after={page[^1].Closed!.Number}&limit={most}")
                    : null;
                if (next is not null)
                {
                    Answers.LinkNext(http, next);
                }

                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(new CountRoundsAnswer([.. open.Select(r => CountRoundSummaryAnswer.Of(book, r))],
                    [.. page.Select(r => CountRoundSummaryAnswer.Of(book, r))], book.Line, next));
            })
        .Produces<CountRoundsAnswer>()
        .RefusesReads()
        .WithSummary("Rounds of counts: those that are open, and those that were closed")
        .WithDescription("All open ones, then the closed ones page by page: `after` is the line that closed the "
            + "last one of the page before.")
        .WithParameter("after", "Only rounds closed after this line; 0 if left out.", "52",
            ParameterForm.Number(Reads.AfterLine))
        .WithParameter("limit",
            $"At most so many closed rounds, {_limits.Least} to {_limits.Most}; "
                + $"{_limits.Otherwise} if left out.", "50", ParameterForm.Number(_limits))
        .WithExample(null, """
            {"open": [{"id": 70, "state": "open", "blind": true, "openedAt": "2026-11-15T18:00:00+00:00", "openedBy": "keeper", "counted": ["ferry-fares"], "toCount": ["market-days"], "wallet": "oilskin-wallet"}],
             "closed": [{"id": 40, "state": "closed", "blind": false, "openedAt": "2026-11-08T18:00:00+00:00", "openedBy": "keeper", "counted": ["ferry-fares", "market-days"], "toCount": [], "wallet": "oilskin-wallet", "closedAt": "2026-11-08T18:40:00+00:00"}],
             "bookLine": 73}
            """);

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/count-rounds/{id:long}",
            async (HttpContext http, Caller caller, long id, CountRoundReader rounds) =>
            {
                Reads.OnlyTakes(http);
                var (_, answer) = await ReadAsync(http, caller, id, rounds).ConfigureAwait(false);
                return TypedResults.Ok(answer);
            })
        .Produces<CountRoundAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("A round of counts: what is done, what is still to count, the totals by denomination")
        .WithParameter("id", "The round's id.", "70")
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(null, RoundExample);

    private static void MapSheet(IEndpointRouteBuilder api) => api
        .MapGet("/count-rounds/{id:long}/sheet",
            async (HttpContext http, Caller caller, long id, CountRoundReader rounds) =>
            {
                Reads.OnlyTakes(http);
                var (book, answer) = await ReadAsync(http, caller, id, rounds).ConfigureAwait(false);
                return Forms.Of(http, Form.Html) == Form.Html
                    ? await PrintedPages.OfAsync<CountSheetPage>(http, book, answer.BookLine, new()
                    {
                        [nameof(CountSheetPage.Household)] = book.Household!.Name,
                        [nameof(CountSheetPage.Read)] = answer,
                        [nameof(CountSheetPage.Values)] = Faces(book, answer),
                    }).ConfigureAwait(false)
                    : TypedResults.Ok(answer);
            })
        .Produces<CountRoundAnswer>(StatusCodes.Status200OK, "application/json", "text/html")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("The sheet of a round: a row a denomination, a column a compartment")
        .WithDescription("To print and fill in by hand. Figures that are in are printed. The sheet of a blind round "
            + "tells no "
            + "expected balance.")
        .WithParameter("id", "The round's id.", "70")
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(null, RoundExample);

    // What may be in any purse, as a multiple of the smallest coin: 10 euro.
    private const int SmallChange = 1000;

    // Notes that nobody can have get no row: those larger than the household draws, or than what lies in any of the
    // compartments, unless one was found. A blind sheet says nothing of what lies there.
    private static List<decimal> Faces(Book book, CountRoundAnswer round)
    {
        var most = book.Household!.LargestNote is { } largest ? book.Currency.ToDecimal(largest)
            : round.Round.Blind || round.Compartments.All(c => c.Expected is null) ? decimal.MaxValue
            : round.Compartments.Max(c => c.Expected ?? 0);
        var found = round.Total.Denominations.Select(total => total.Value).ToHashSet();
        var issued = Denominations.StillIssued(book.Currency).Select(book.Currency.ToDecimal).ToHashSet();
        return [.. Denominations.Of(book.Currency).Where(face => found.Contains(face)
            || (issued.Contains(face) && face <= Math.Max(most, issued.Min() * SmallChange)))];
    }

    private static async Task<(Book Book, CountRoundAnswer Answer)> ReadAsync(HttpContext http, Caller caller, long id,
        CountRoundReader rounds)
    {
        var (book, read, counts) =
            await rounds.FindAsync(caller.Household, id, http.RequestAborted).ConfigureAwait(false)
            ?? throw Refusal.NotFound("count-round-unknown",
                $"There is no count round {id}: GET /api/count-rounds lists them.");
        Answers.StampLine(http, book.Line);
        return (book, CountRoundAnswer.Of(book, read, counts));
    }

    private static async Task<(DateOnly? Day, long? AtLine)> MomentAsync(
        string household, long round, string written, BookReader books, LineReader lines, TimeProvider clock,
        CancellationToken cancellation)
    {
        var countedAt = Reads.Instant(written, "countedAt")!.Value;
        var book = await books.ReadAsync(household, cancellation).ConfigureAwait(false);
        var opened = await lines.FindAsync(household, round, cancellation).ConfigureAwait(false);
        CountInRound.MustBeMoment(countedAt, clock.GetUtcNow(),
            opened is { Event: CountRoundOpened } && book.SaidAhead(round) is null ? opened.RecordedAt : null);
        return (book.Household!.DateAt(countedAt),
            await books.LineAsync(household, new AsOf(null, null, countedAt), cancellation).ConfigureAwait(false));
    }

    private static CountRoundEntryAnswer Written(Entry entry, long id) => new(entry.Lines, entry.Id, id)
    {
        Counted = Of(entry, c => c.Count is not null),
        NotCounted = Of(entry, c => c.Count is null),
        Confirmed = Of(entry, c => c.Count?.ConfirmedBy is not null),
    };

    private static List<string>? Of(Entry entry, Func<RoundCompartment, bool> which) =>
        entry.CountRound?.Compartments.Where(which).Select(c => c.Id).ToList();
}

/// <summary>A line of the kind <c>countRound</c>.</summary>
public sealed record CountRoundLine : LineAnswer, ILineOf<CountRoundOpened>
{
    /// <summary>The wallet it is about.</summary>
    public string? Wallet { get; init; }

    /// <summary>A compartment's purpose.</summary>
    public Purpose? Purpose { get; init; }

    /// <summary>Whether a round of counts hides what is expected until a figure is in.</summary>
    public required bool Blind { get; init; }

    /// <summary>The compartments that a round of counts is to count.</summary>
    public required IReadOnlyList<string> Compartments { get; init; }

    static LineAnswer ILineOf<CountRoundOpened>.Of(CountRoundOpened e, LineTelling told) =>
        new CountRoundLine { Wallet = e.Wallet, Purpose = e.Purpose, Blind = e.Blind, Compartments = e.Compartments };
}

/// <summary>A line of the kind <c>countsConfirmed</c>.</summary>
public sealed record CountsConfirmedLine : LineAnswer, ILineOf<CountsConfirmed>
{
    /// <summary>The round of counts that it belongs to, or is about.</summary>
    public required long Round { get; init; }

    /// <summary>The counts of a round that are confirmed, or with which it is closed.</summary>
    public required IReadOnlyList<long> Counts { get; init; }

    static LineAnswer ILineOf<CountsConfirmed>.Of(CountsConfirmed e, LineTelling told) =>
        new CountsConfirmedLine { Round = e.Round, Counts = [.. e.Counts.Select(c => c.Count)] };
}

/// <summary>A line of the kind <c>countRoundClosed</c>.</summary>
public sealed record CountRoundClosedLine : LineAnswer, ILineOf<CountRoundClosed>
{
    /// <summary>The round of counts that it belongs to, or is about.</summary>
    public required long Round { get; init; }

    /// <summary>The counts of a round that are confirmed, or with which it is closed.</summary>
    public IReadOnlyList<long>? Counts { get; init; }

    /// <summary>The compartments that were not counted when a round was closed.</summary>
    public required IReadOnlyList<string> NotCounted { get; init; }

    static LineAnswer ILineOf<CountRoundClosed>.Of(CountRoundClosed e, LineTelling told) =>
        new CountRoundClosedLine
        {
            Round = e.Round,
            Counts = [.. e.Results.Select(r => r.Count?.Line).OfType<long>()],
            NotCounted = [.. e.Results.Where(r => r.Count is null).Select(r => r.Compartment)],
            Description = e.Reason.Length > 0 ? e.Reason : null
        };
}
