using FluentValidation;

namespace CashEvents.Api.Months;

/// <summary>Closes a month.</summary>
/// <param name="Reason">What to write beside it, at most 200 characters; needed when something is open.</param>
/// <param name="Sweep">Leftovers to sweep on the month's last day, in the same entry.</param>
public sealed record MonthCloseRequest(string? Reason, SweepRequest? Sweep);

/// <summary>Reopens a month.</summary>
/// <param name="Reason">Why, at most 200 characters.</param>
public sealed record MonthReopenRequest(string? Reason);

/// <summary>What was written about a month.</summary>
/// <param name="Month">The month.</param>
/// <param name="Closed">Whether it is closed now.</param>
/// <param name="Lines">Numbers of the lines written.</param>
/// <param name="EntryId">Their entry.</param>
/// <param name="Closing">What each place held at its end; absent when it was reopened.</param>
public sealed record MonthAnswer(string Month, bool Closed, IReadOnlyList<long> Lines, long EntryId,
    IReadOnlyList<ClosingAnswer>? Closing)
{
    /// <summary>Of its sweep: what was taken of each compartment and left there.</summary>
    public IReadOnlyList<SweptAnswer>? Swept { get; init; }
}

internal sealed class MonthCloseRequestValidator : AbstractValidator<MonthCloseRequest>
{
    public MonthCloseRequestValidator()
    {
        RuleFor(r => r.Sweep!).SetValidator(new SweepRequestValidator()).When(r => r.Sweep is not null);
        RuleFor(r => r.Sweep!.OccurredOn).Null().When(r => r.Sweep is not null)
            .WithMessage("The leftovers are swept on the month's last day: leave `occurredOn` out.");
        RuleFor(r => r.Sweep!.IdempotencyKey).Null().When(r => r.Sweep is not null)
            .WithMessage("The sweep is part of the closing: send the Idempotency-Key header with the request.");
    }
}

internal sealed class MonthReopenRequestValidator : AbstractValidator<MonthReopenRequest>
{
    public MonthReopenRequestValidator() =>
        RuleFor(r => r.Reason).NotEmpty().WithMessage("`reason` is needed: why the month is opened again.");
}

internal sealed class MonthEndpoints : IEndpoints
{
    private const int MostMonths = 120;
    private const int UsualMonths = 12;

    public static void Map(IEndpointRouteBuilder api)
    {
        MapSideBySide(api);
        MapTrail(api);
        MapClosing(api);
        MapReopening(api);
    }

    private static void MapSideBySide(IEndpointRouteBuilder api) => api
        .MapGet("/months", async (HttpContext http, Caller caller, string? from, string? to, MonthReader months) =>
        {
            Reads.OnlyTakes(http, "from", "to");
            var (first, last) = (Asked(from, "from"), Asked(to, "to"));
            var read = (await months.ReadAsync(caller.Household,
                (present, begun) => Asked(first, last ?? (first > present ? first.Value : present), begun),
                http.RequestAborted).ConfigureAwait(false))!;
            var answer = MonthsAnswer.Of(read);
            Answers.StampLine(http, answer.BookLine);
            return Forms.Of(http, Form.Csv, Form.Html) switch
            {
                Form.Csv => await Csv.OfAsync(RowHeading, answer.Months.Select(Cells)).ConfigureAwait(false),
                Form.Html => await PrintedPages.OfAsync<MonthsPage>(http, read.Book, answer.BookLine, new()
                {
                    [nameof(MonthsPage.Household)] = read.Book.Household!.Name,
                    [nameof(MonthsPage.Months)] = answer,
                }).ConfigureAwait(false),
                _ => TypedResults.Ok(answer),
            };
        })
        .Produces<MonthsAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads()
        .WithSummary("Months side by side: the household's figures of each, where its closing lies, and who closed "
            + "it")
        .WithDescription($"`from` and `to` are months, at most {MostMonths}. If left out, they are the last "
                + $"{UsualMonths} up to the present one, but none before the book's first. Corrections of a "
                + "closed month's lines stand in `corrected` of the month they are posted in.")
        .WithParameter("from",
            "The first month; eleven months before the last, but no earlier than the book's first, if left out.",
            "2026-01", ParameterForm.Month)
        .WithParameter("to", "The last month; the household's present one if left out.", "2026-11",
            ParameterForm.Month)
        .WithExample(null, """
            {"currency": "EUR",
             "months": [
               {"month": "2026-10", "closed": {"line": 90, "by": "keeper", "recordedAt": "2026-11-01T09:12:30.412345+00:00", "reason": "The wallets were counted on paper"},
                "figures": {"opening": 0.00, "filled": 120.00, "spent": 57.60, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 7.40, "sweptOut": 7.40, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 62.40},
                "closingCash": 62.40, "closingBank": 0.00},
               {"month": "2026-11",
                "figures": {"opening": 62.40, "filled": 60.00, "spent": 8.40, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 114.00},
                "closingCash": 114.00, "closingBank": 0.00}],
             "totals": {"opening": 0.00, "filled": 180.00, "spent": 66.00, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 7.40, "sweptOut": 7.40, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 114.00},
             "bookLine": 96}
            """);

    private static void MapTrail(IEndpointRouteBuilder api) => api
        .MapGet("/months/{month}/trail", async (HttpContext http, Caller caller, string month, TrailReader trails) =>
        {
            Reads.OnlyTakes(http);
            var form = Forms.Of(http, Form.Csv, Form.Html);
            var read = (await trails.ReadAsync(caller.Household, Asked(month), byWeeks: form == Form.Html,
                http.RequestAborted).ConfigureAwait(false))!;
            var answer = TrailAnswer.Of(read);
            Answers.StampLine(http, answer.BookLine);
            return form switch
            {
                Form.Csv => await Csv.OfAsync(Heading, answer.Places.Select(Cells)).ConfigureAwait(false),
                Form.Html => await PageAsync(http, read, answer).ConfigureAwait(false),
                _ => TypedResults.Ok(answer),
            };
        })
        .Produces<TrailAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads()
        .WithSummary("A month's audit trail: openings to closings, who did what, what moved where, its lines, a "
            + "trial balance")
        .WithDescription("Late lines, corrections and unsettled counts are marked. A line and its reversal count in no "
            + "total, "
            + "and both stand among the lines. Corrections of a closed month's lines stand in `corrected` of the "
            + "month they are posted in. The page to print has a leaf for each wallet.")
        .WithParameter("month", "The month.", "2026-11", ParameterForm.Month)
        .WithExample(null, """
            {"month": "2026-11", "currency": "EUR",
             "places": [{"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "holding": "cash",
               "figures": {"opening": 12.40, "filled": 60.00, "spent": 8.40, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 64.00}}],
             "compartments": [{"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet",
               "figures": {"opening": 12.40, "filled": 60.00, "spent": 8.40, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 64.00}}],
             "wallets": [{"wallet": "oilskin-wallet", "label": "Oilskin wallet",
               "figures": {"opening": 12.40, "filled": 60.00, "spent": 8.40, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 64.00}}],
             "household": {"opening": 12.40, "filled": 60.00, "spent": 8.40, "refunded": 0.00, "movedIn": 0.00, "movedOut": 0.00, "sweptIn": 0.00, "sweptOut": 0.00, "over": 0.00, "short": 0.00, "corrected": 0.00, "closing": 64.00},
             "writers": [{"by": "keeper", "kind": "fill", "lines": 1, "amount": 60.00}, {"by": "partner", "kind": "spend", "lines": 1, "amount": 8.40}],
             "moves": [],
             "lines": [{"line": {"line": 52, "entryId": 52, "kind": "spend", "recordedAt": "2026-11-05T17:20:41.103212+00:00", "by": "partner",
               "occurredOn": "2026-11-03", "compartment": "ferry-fares", "holding": "cash", "amount": 8.40, "description": "Return to the mainland"}, "daysLate": 2, "correction": false, "unsettled": false}],
             "trialBalance": {"accounts": [{"account": "ferry-fares/cash", "debit": 64.00, "credit": 0.00}, {"account": "broughtForward", "debit": 0.00, "credit": 12.40}, {"account": "filled", "debit": 0.00, "credit": 60.00}, {"account": "spent", "debit": 8.40, "credit": 0.00}],
               "debit": 72.40, "credit": 72.40, "difference": 0.00},
             "open": [{"kind": "notCounted", "compartment": "ferry-fares", "holding": "cash", "on": "2026-11-03"}],
             "bookLine": 61, "hash": "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"}
            """);

    private static void MapClosing(IEndpointRouteBuilder api) => api
        .MapPost("/months/{month}/close",
            async (HttpContext http, Caller caller, string month, Body<MonthCloseRequest> body, WriteDesk desk,
                LineReader lines) =>
            {
                caller.MustKeep();
                var sweep = body.Value.Sweep?.ToCommand() as RecordSweep;
                var (entry, currency) = await desk.WriteAsync(http,
                    new CloseMonth(Asked(month), sweep, body.Value.Reason), $"close {month}", body.Value)
                    .ConfigureAwait(false);
                var line = await lines.FindAsync(caller.Household, entry.Lines[^1], http.RequestAborted)
                    .ConfigureAwait(false);
                return TypedResults.Created($"/api/months/{month}/trail",
                    new MonthAnswer(month, true, entry.Lines, entry.Id!.Value,
                        ((MonthClosedLine)LineAnswer.Of(line!, currency)).Closing)
                    { Swept = SweptAnswer.Of(entry, currency) });
            })
        .Accepts<MonthCloseRequest>("application/json")
        .Produces<MonthAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Close a month: its closing figures are recorded, and nothing dated in it changes any more")
        .WithDescription("Refused with a list in `open` while cash that moved in the month was not counted "
                + "since, or a count is not settled. With a reason it is closed all the same. With `sweep` the "
                + "leftovers are moved on the month's last day in the same entry. Where a payday came before "
                + "that, `take` \"broughtForward\" leaves its fresh notes. Months are closed one after another. "
                + "Days before the first one closed are closed with it.")
        .WithParameter("month", "The month to close, with all before it.", "2026-09", ParameterForm.Month)
        .WithExample(
            """{"sweep": {"from": {"compartments": ["ferry-fares", "market-days"]}, "to": {"compartment": "rainy-day"}, "leave": 5.00, "description": "September leftovers"}, "reason": "Two wallets were not at home to be counted"}""",
            """
            {"month": "2026-09", "closed": true, "lines": [88, 89, 90], "entryId": 88,
             "closing": [{"compartment": "ferry-fares", "holding": "cash", "wallet": "oilskin-wallet", "closing": 5.00}, {"compartment": "rainy-day", "holding": "cash", "wallet": "desk-drawer", "closing": 46.35}]}
            """);

    private static void MapReopening(IEndpointRouteBuilder api) => api
        .MapPost("/months/{month}/reopen",
            async (HttpContext http, Caller caller, string month, Body<MonthReopenRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var (entry, _) = await desk.WriteAsync(http, new ReopenMonth(Asked(month), body.Value.Reason),
                    $"reopen {month}", body.Value).ConfigureAwait(false);
                return TypedResults.Created($"/api/lines/{entry.Id}",
                    new MonthAnswer(month, false, entry.Lines, entry.Id!.Value, null));
            })
        .Accepts<MonthReopenRequest>("application/json")
        .Produces<MonthAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Reopen the latest closed month, with a reason")
        .WithParameter("month", "The month to open again: the latest that is closed.", "2026-11", ParameterForm.Month)
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(
            """{"reason": "The boat yard's October bill was dated wrong"}""",
            """{"month": "2026-10", "closed": false, "lines": [95], "entryId": 95}""");

    private static Task<IResult> PageAsync(HttpContext http, MonthTrail read, TrailAnswer answer) =>
        PrintedPages.OfAsync<TrailPage>(http, read.Book, answer.BookLine, new()
        {
            [nameof(TrailPage.Read)] = read,
            [nameof(TrailPage.Answer)] = answer,
            [nameof(TrailPage.Weeks)] =
            read.Weeks is { } weeks ? MonthByWeeksAnswer.Of(read.Trail.Month.ToString(), weeks) : null,
        });

    private static Month Asked(string written) => Month.Of(Reads.Month(written)!.Value);

    private static Month? Asked(string? written, string parameter) =>
        Reads.Month(written, parameter) is { } first ? Month.Of(first) : null;

    private static IReadOnlyList<Month> Asked(Month? from, Month last, Month begun)
    {
        var first = from ?? (begun > last ? last : begun.MonthsTo(last) < UsualMonths
            ? begun
            : last.Plus(1 - UsualMonths));
        return (first.MonthsTo(last) + 1) switch
        {
            < 1 => throw new MalformedException("from",
                $"`from` is {first}, after `to`, {last}: write the earlier one in `from`."),
            > MostMonths and var months =>
                throw new MalformedException("from",
                    $"From {first} to {last} are {months} months: ask for at most {MostMonths} at a time."),
            _ => Month.Through(first, last),
        };
    }

    private static readonly string[] RowHeading =
        ["month", "closedBy", "closedAt", .. FiguresAnswer.Columns.Select(c => c.Name), "closingCash", "closingBank"];

    private static IReadOnlyList<object?> Cells(MonthRowAnswer m) =>
        [m.Month, m.Closed?.By, m.Closed?.RecordedAt,
            .. FiguresAnswer.Columns.Select(c => (object?)c.Figure(m.Figures)), m.ClosingCash, m.ClosingBank];

    private static readonly string[] Heading =
        ["wallet", "compartment", "label", "holding", .. FiguresAnswer.Columns.Select(c => c.Name)];

    private static IReadOnlyList<object?> Cells(PartTrail p) =>
        [p.Wallet, p.Compartment, p.Label, p.Holding, .. FiguresAnswer.Columns.Select(c => c.Figure(p.Figures))];
}
