using System.Collections.Immutable;
using System.Globalization;
using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>What a compartment is to get; at least one of both.</summary>
/// <param name="Cash">In cash; as worked out if left out.</param>
/// <param name="Bank">In the bank; as worked out if left out.</param>
public sealed record FillAmountRequest(decimal? Cash, decimal? Bank);

/// <summary>A payday to be shared out.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Pay">What was paid in all; what its sources are known to pay if left out.</param>
/// <param name="DryRun">True to see the same figures and write nothing.</param>
/// <param name="Description">What to write beside the line, at most 200 characters; the payday if left out.</param>
/// <param name="OccurredOn">The household's date on which the cash was drawn and filled, from the payday on; the payday
/// if left out.</param>
public sealed record FillRunRequest(DateOnly? Payday, decimal? Pay, bool? DryRun, string? Description,
    DateOnly? OccurredOn = null)
{
    /// <summary>What compartments get in the stead of what their rules come to, each by its id.</summary>
    public IReadOnlyDictionary<string, FillAmountRequest>? Amounts { get; init; }

    /// <summary>What it asks the book to write.</summary>
    internal FillPayday ToCommand() =>
        new(Payday!.Value, Pay, Description, HouseholdCalendar.Of)
        {
            OccurredOn = OccurredOn,
            Amounts = Amounts?.ToDictionary(a => a.Key, a => new FillAmount(a.Value.Cash, a.Value.Bank)),
        };
}

internal sealed class FillRunRequestValidator : AbstractValidator<FillRunRequest>
{
    public FillRunRequestValidator()
    {
        RuleFor(r => r.Payday).NotNull()
            .WithMessage("`payday` is needed: the bank day of a payday, such as \"2026-12-01\". GET /api/paydays lists "
                + "them.");
        RuleFor(r => r.Pay).GreaterThan(0m)
            .WithMessage("`pay` is {PropertyValue}: write what was paid in all, above zero.");
        RuleFor(r => r.Amounts).Custom((amounts, at) =>
        {
            foreach (var (compartment, _) in amounts?.Where(a => a.Value is null or { Cash: null, Bank: null }) ?? [])
            {
                at.AddFailure($"amounts.{compartment}", "Say what it gets: `cash`, `bank`, or both.");
            }
        });
    }
}

internal sealed class FillRunEndpoints : IEndpoints
{
    private static readonly string[] _heading =
        ["payday", "compartment", "rule", "rank", "wanted", "overCeiling", "rounding", "cut", "amount", "cash", "bank",
            "changed"];

    private const string Figures = """
        "payday": "2026-11-02", "until": "2026-11-30", "nextPayday": "2026-12-01",
        "sums": {"pay": 1000.00, "fixedBills": 640.00, "automaticSavings": 150.00, "toShare": 210.00, "cash": 186.00, "bank": 24.00, "fills": 210.00, "cut": 75.00, "staysInBank": 0.00},
        "compartments": [
          {"compartment": "boat-insurance", "label": "Boat insurance", "rule": "contribution", "rank": 1, "wanted": 40.00, "amount": 40.00, "cash": 16.00, "bank": 24.00},
          {"compartment": "ferry-fares", "label": "Ferry fares", "rule": "weekly", "rank": 2, "wanted": 110.71, "amount": 115.00, "cash": 115.00, "bank": 0.00, "rounding": 4.29},
          {"compartment": "market-days", "label": "Market days", "rule": "fixed", "rank": 3, "wanted": 130.00, "amount": 55.00, "cash": 55.00, "bank": 0.00, "cut": 75.00, "why": "Rank 3 is short, and its compartments share what is left in proportion."}],
        "note": "The pay does not reach: 75.00 EUR of what is wanted is cut."
        """;

    private const string Written = """
        "occurredOn": "2026-11-02", "lines": [75], "entryId": 75, "by": "payday script"
        """;

    public static void Map(IEndpointRouteBuilder api)
    {
        MapFilling(api);
        MapList(api);
        MapOne(api);
        MapDrawSlip(api);
    }

    private static void MapFilling(IEndpointRouteBuilder api) => api
        .MapPost("/fill-runs",
            (HttpContext http, Caller caller, Body<FillRunRequest> body, WriteDesk desk, BookReader books,
                FillRunReader runs) =>
            {
                caller.MustBeAllowed(MovementKind.Fill);
                return body.Value.DryRun is true
                    ? RehearseAsync(http, caller, body.Value, runs)
                    : FillAsync(http, caller, body.Value, desk, books);
            })
        .Accepts<FillRunRequest>("application/json")
        .Produces<FillRunAnswer>(StatusCodes.Status201Created)
        .Produces<FillRunAnswer>(StatusCodes.Status200OK, "application/json", "text/csv")
        .RefusesWrites()
        .WithSummary("Share out a payday and fill every compartment by its rule, in one line, or see what it "
                + "would come to")
        .WithDescription("What is shared out is the pay less fixed bills and automatic savings until the next payday. "
            + "Ranks are "
            + "filled one after another. A rank that can't have all it wants shares what is left in proportion, "
            + "exact to the minor unit by largest remainder; later ranks get nothing. Cash comes in whole notes of "
            + "the household's smallest to draw. With `dryRun` nothing is written, and the figures are those that "
            + "writing would give. A payday is filled once, until POST /api/lines/{n}/reversal has undone the run. "
            + "The line stands on `occurredOn`, the day on which the cash was drawn; the payday if left out, or "
            + "today when its month is closed. `amounts` changes what single compartments get, in cash, in the bank or "
            + "both, to no more in total than there is to share out. Money that the bank held before is not looked at. "
            + "A script's key "
            + "needs `fill` among its movements.")
        .WithExample(
            """{"payday": "2026-11-02", "pay": 1000.00}""",
            $$"""{ {{Figures}}, "occurredOn": "2026-11-02", "lines": [75], "entryId": 75, "bookLine": 75}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/fill-runs", async (HttpContext http, Caller caller, string? from, string? to, BookReader books,
            LineReader lines) =>
        {
            Reads.OnlyTakes(http, "from", "to");
            var first = Reads.Day(from, "from") ?? DateOnly.MinValue;
            var last = Reads.Day(to, "to") ?? DateOnly.MaxValue;
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var runs = await RunsAsync(http, caller, lines).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new FillRunsAnswer(
                [.. runs.Where(r => Payday(r) >= first && Payday(r) <= last && r.Number <= book.Line)
                    .Select(r => FillRunAnswer.Of(r, book))], book.Line));
        })
        .Produces<FillRunsAnswer>()
        .RefusesReads()
        .WithSummary("Fill runs in the order they were written, undone ones too")
        .WithParameter("from", "Only paydays on this bank day or later.", "2026-10-01", ParameterForm.Day)
        .WithParameter("to", "Only paydays on this bank day or earlier.", "2026-12-31", ParameterForm.Day)
        .WithExample(null, $$"""{"fillRuns": [{ {{Figures}}, {{Written}} }], "bookLine": 75}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/fill-runs/{payday}",
            async (HttpContext http, Caller caller, string payday, BookReader books, LineReader lines) =>
            {
                Reads.OnlyTakes(http);
                var day = Reads.Day(payday, "payday")!.Value;
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var run = (await RunsAsync(http, caller, lines).ConfigureAwait(false))
                    .LastOrDefault(r => Payday(r) == day && r.Number <= book.Line)
                    ?? throw Refusal.NotFound("fill-run-unknown",
                        $"{day:O} was not filled by a run. GET /api/fill-runs lists them; POST /api/fill-runs fills a "
                            + $"payday.");
                Answers.StampLine(http, book.Line);
                return await AnswerAsync(http, FillRunAnswer.Of(run, book) with { BookLine = book.Line })
                    .ConfigureAwait(false);
            })
        .Produces<FillRunAnswer>(StatusCodes.Status200OK, "application/json", "text/csv")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("The fill run of a payday: the one that stands, or the last that was undone")
        .WithParameter("payday", "The bank day of a payday.", "2026-12-01", ParameterForm.Day)
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(null, $$"""{ {{Figures}}, {{Written}}, "bookLine": 75}""");

    private static void MapDrawSlip(IEndpointRouteBuilder api) => api
        .MapGet("/fill-runs/{payday}/draw-slip", DrawSlipAsync)
        .IsHeavy()
        .Produces<DrawSlipAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status404NotFound, StatusCodes.Status409Conflict,
            StatusCodes.Status422UnprocessableEntity)
        .WithSummary(
            "The draw slip of a payday: the notes to ask the bank for, and the packing list by compartment")
        .WithDescription("It is that of the run that stands, or of what a run would give now, so that the slip can be "
            + "taken to "
            + "the bank first. `denominations` names the notes that the bank gives; the household's smallest to "
            + "largest to draw if left out. Notes in hand are used first. Wishes that can't be met are named.")
        .WithParameter("payday", "The bank day of a payday.", "2026-12-01", ParameterForm.Day)
        .WithParameter("pay",
            "What was paid on that day in all, while it is not filled; what its sources are known to pay if left "
                + "out.", "2400.00", ParameterForm.Amount)
        .WithParameter("cash",
            "What single compartments get in cash, while it is not filled; what their rules say if left out.",
            "ferry-fares:45.00,market-days:60.00")
        .WithParameter("occurredOn",
            "The day on which it is to be filled, from the payday on, while it is not; the payday if left out.",
            "2026-11-02", ParameterForm.Day)
        .WithParameter("inHand",
            "Notes and coins that are there already and are used first, each value with how many; none if left "
                + "out.", "20:3,5:4")
        .WithParameter("denominations",
            "The values that the bank gives; the household's from the smallest to the largest note to draw if "
                + "left out.", "50,20,10,5")
        .WithExample(null, """
            {"payday": "2026-10-30", "occurredOn": "2026-10-30", "total": 105.00, "fromHand": 20.00, "draw": 85.00, "pieces": 5,
             "ask": [{"value": 20.00, "count": 4}, {"value": 5.00, "count": 1}],
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 45.00, "packed": 45.00, "pieces": [{"value": 20.00, "count": 2}, {"value": 5.00, "count": 1}]},
               {"compartment": "market-days", "label": "Market days", "amount": 60.00, "packed": 60.00, "pieces": [{"value": 20.00, "count": 3}]}],
             "left": [], "unmetWishes": [], "provenBest": true, "bookLine": 75}
            """);

    private static async Task<IResult> RehearseAsync(HttpContext http, Caller caller, FillRunRequest sent,
        FillRunReader runs)
    {
        var book = await runs.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        WriteDesk.MustStandAsMatched(http, book);
        Answers.StampLine(http, book.Line);
        var run = FillRunAnswer.Of(sent.ToCommand().WorkOut(book), book);
        return await AnswerAsync(http, run with { DryRun = true, OccurredOn = sent.OccurredOn, BookLine = book.Line })
            .ConfigureAwait(false);
    }

    private static async Task<IResult> FillAsync(HttpContext http, Caller caller, FillRunRequest sent, WriteDesk desk,
        BookReader books)
    {
        var (entry, currency) = await desk.WriteAsync(http, sent.ToCommand(), "fill run", sent).ConfigureAwait(false);
        var run = entry.FillRun!;
        var labels = entry.FilledLabels
            ?? (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false))
                .Compartments.ToImmutableDictionary(c => c.Key, c => c.Value.Label);
        var answer = FillRunAnswer.Of(run.Run, currency!, compartment => labels[compartment]) with
        {
            OccurredOn = run.OccurredOn,
            Lines = entry.Lines,
            EntryId = entry.Id,
            BookLine = entry.BookLine,
        };
        return TypedResults.Created($"/api/fill-runs/{run.Run.Payday:yyyy-MM-dd}", answer);
    }

    private static async Task<IResult> DrawSlipAsync(HttpContext http, Caller caller, string payday, string? pay,
        string? cash, string? occurredOn, string? inHand, string? denominations, FillRunReader runs, LineReader lines)
    {
        Reads.OnlyTakes(http, "pay", "cash", "occurredOn", "inHand", "denominations");
        var command = new FillPayday(Reads.Day(payday, "payday")!.Value, Reads.Amount(pay, "pay"), null,
            HouseholdCalendar.Of)
        { OccurredOn = Reads.Day(occurredOn, "occurredOn"), Amounts = Cash(cash) };
        var (hand, given) = (Pieces(inHand), Values(denominations));
        var book = await runs.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        var (run, on) = await RunOfAsync(http, caller, command, book, lines).ConfigureAwait(false);
        var amounts = run.CashToDraw(book);
        var fromBank = given is null
            ? book.Household!.ToDraw
            : Denominations.ReadValues(book.Currency, given, "denominations");
        return await DrawSlipEndpoint.AnswerAsync(http, PackingTask.Read(book, amounts, hand, fromBank), book,
            _ => "denominations", new DrawnFor(run.Payday, on)).ConfigureAwait(false);
    }

    private static async Task<IResult> AnswerAsync(HttpContext http, FillRunAnswer run) =>
        Forms.Of(http, Form.Csv) == Form.Csv
        ? await Csv.OfAsync(_heading, run.Compartments.Select(c => (IReadOnlyList<object?>)[
            run.Payday, c.Compartment, Spelling.Of(c.Rule), c.Rank, c.Wanted, c.OverCeiling ?? Nothing(c),
            c.Rounding ?? Nothing(c), c.Cut ?? Nothing(c), c.Amount, c.Cash, c.Bank, c.Changed ?? Nothing(c)]))
            .ConfigureAwait(false)
        : TypedResults.Ok(run);

    // With as many decimals as the others.
    private static decimal Nothing(CompartmentFillAnswer fill) => fill.Wanted - fill.Wanted;

    private static DateOnly Payday(BookLine line) => ((PaydayFilled)line.Event).Run.Payday;

    // A few dozen a year.
    private static Task<IReadOnlyList<BookLine>> RunsAsync(HttpContext http, Caller caller, LineReader lines) =>
        lines.ReadAsync(caller.Household, new LineFilter(0, int.MaxValue, Kind: LineKinds.Names[typeof(PaydayFilled)]),
            http.RequestAborted);

    // The run that stands, or what filling would give now; with the day on which it is filled, where that is known.
    private static async Task<(FillRun Run, DateOnly? On)> RunOfAsync(HttpContext http, Caller caller,
        FillPayday command, Book book, LineReader lines)
    {
        var payday = command.Payday;
        if (!book.FillRuns.TryGetValue(payday, out var mark) || mark.State != PaydayState.Filled)
        {
            FillPayday.MustNotBeBefore(payday, command.OccurredOn);
            return (WorkOut(command, book), command.OccurredOn ?? (book.IsClosed(payday) ? null : payday));
        }

        if ((command.Pay is not null ? "pay" : command.Amounts is not null ? "cash"
            : command.OccurredOn is not null ? "occurredOn" : null) is { } field)
        {
            throw new MalformedException(field,
                $"{payday:O} is filled by line {mark.Line}, from the pay and on the day that were known then: leave "
                    + $"`{field}` out.");
        }

        var filled = (PaydayFilled)(await lines.FindAsync(caller.Household, mark.Line, http.RequestAborted)
            .ConfigureAwait(false))!.Event;
        return (filled.Run, filled.OccurredOn);
    }

    private static FillRun WorkOut(FillPayday command, Book book)
    {
        if (command.Amounts is null)
        {
            return FillRun.Of(command.Payday, command.Pay, book, HouseholdCalendar.Of(book.Household!.Country));
        }

        try
        {
            return command.WorkOut(book);
        }
        catch (RefusalException refused) when (refused.Refusal.Field?.StartsWith("amounts", StringComparison.Ordinal)
            is true)
        {
            throw new RefusalException(refused.Refusal with { Field = "cash" });
        }
    }

    private static Dictionary<string, FillAmount>? Cash(string? written)
    {
        if (written is null)
        {
            return null;
        }

        var amounts = new Dictionary<string, FillAmount>();
        foreach (var part in written.Split(','))
        {
            if (part.Split(':') is not [{ Length: > 0 } compartment, var amount]
                || !amounts.TryAdd(compartment, new FillAmount(Reads.Amount(amount, "cash"), null)))
            {
                throw new MalformedException("cash",
                    "`cash` says what each compartment gets, each once, written like ferry-fares:45.00,market-days:60.");
            }
        }

        return amounts;
    }

    private static Dictionary<string, long> Pieces(string? written)
    {
        var pieces = new Dictionary<string, long>();
        foreach (var part in written?.Split(',') ?? [])
        {
            if (part.Split(':') is not [{ Length: > 0 } value, var count]
                || !long.TryParse(count, NumberStyles.None, CultureInfo.InvariantCulture, out var number)
                || !pieces.TryAdd(value, number))
            {
                throw new MalformedException("inHand",
                    "`inHand` says how many of each note and coin there are, each value once, written like 20:3,5:4.");
            }
        }

        return pieces;
    }

    private static List<decimal>? Values(string? written) => written is null ? null
        : [.. written.Split(',').Select(value => Reads.Face(value, "denominations"))];
}

/// <summary>A line of the kind <c>fillRun</c>.</summary>
public sealed record FillRunLine : MovementLineAnswer, ILineOf<PaydayFilled>
{
    /// <summary>The payday that a fill run fills, is undone for, or that is left.</summary>
    public required DateOnly Payday { get; init; }

    /// <summary>What a fill run was worked out from: the pay of that day.</summary>
    public required decimal Pay { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    /// <summary>
    /// For a fill run: what each place gets. For a reversal: the changes it makes, each the other way round than the
    /// line it undoes.
    /// </summary>
    public required IReadOnlyList<ChangeAnswer> Changes { get; init; }

    static LineAnswer ILineOf<PaydayFilled>.Of(PaydayFilled e, LineTelling told) =>
        new FillRunLine
        {
            Payday = e.Run.Payday,
            Pay = told.Say(e.Run.Pay),
            Amount = told.Say(e.Run.Filled),
            Changes = [.. e.Postings.Select(
                p => new ChangeAnswer(p.Place.Compartment, p.Place.Holding, told.Say(p.Amount)))]
        };
}
