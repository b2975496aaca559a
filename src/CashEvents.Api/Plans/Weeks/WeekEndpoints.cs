namespace CashEvents.Api.Plans;

internal sealed class WeekEndpoints : IEndpoints
{
    private const int MostWeeks = 110;
    private const int UsualWeeks = 8;

    private const string Figures =
        "The figures are the total of cash and bank. `variance` is planned minus spent: negative is unfavourable. "
        + "`cumulativeVariance` is that of the year to date, from the first week with a plan. While a week is "
        + "running, `pace` says how much of it is gone, and `planSpent` how much of the plan is spent. `moneyEnds` "
        + "is when the money ends at this pace.";

    private const string Ferry = """
        {"compartment": "ferry-fares", "label": "Ferry fares", "planned": 25.00, "carriedIn": 70.10, "filled": 0.00, "spent": 22.45, "movedIn": 0.00, "movedOut": 0.00,
         "overShort": 0.00, "corrected": 0.00, "left": 47.65, "variance": 2.55, "cumulativeVariance": 14.20, "planSpent": 0.898, "moneyEnds": "2026-12-01"}
        """;

    private const string Totals = """
        {"planned": 25.00, "carriedIn": 70.10, "filled": 0.00, "spent": 22.45, "movedIn": 0.00, "movedOut": 0.00, "overShort": 0.00, "corrected": 0.00,
         "left": 47.65, "variance": 2.55, "cumulativeVariance": 14.20, "planSpent": 0.898, "moneyEnds": "2026-12-01"}
        """;

    private const string RunningWeek = $$"""
        "week": "2026-W47", "firstDay": "2026-11-16", "lastDay": "2026-11-22", "compartments": [{{Ferry}}], "totals": {{Totals}}, "pace": {"daysGone": 5, "days": 7, "shareGone": 0.7143}
        """;

    private const string CutWeek = """
        {"week": "2026-W49", "firstDay": "2026-11-30", "lastDay": "2026-11-30",
         "compartments": [{"compartment": "ferry-fares", "label": "Ferry fares", "planned": 3.57, "carriedIn": 47.65, "filled": 0.00, "spent": 6.75, "movedIn": 0.00, "movedOut": 0.00,
           "overShort": 0.00, "corrected": 0.00, "left": 40.90, "variance": -3.18, "cumulativeVariance": 11.02}],
         "totals": {"planned": 3.57, "carriedIn": 47.65, "filled": 0.00, "spent": 6.75, "movedIn": 0.00, "movedOut": 0.00, "overShort": 0.00, "corrected": 0.00,
           "left": 40.90, "variance": -3.18, "cumulativeVariance": 11.02}}
        """;

    private const string WholeMonth = """
        "planned": 107.14, "carriedIn": 12.40, "filled": 90.00, "spent": 61.50, "movedIn": 0.00, "movedOut": 0.00, "overShort": 0.00, "corrected": 0.00,
        "left": 40.90, "variance": 45.64, "cumulativeVariance": 11.02
        """;

    private static readonly string[] Heading =
        ["week", "firstDay", "lastDay", "compartment", "planned", "carriedIn", "filled", "spent", "movedIn", "movedOut",
            "overShort", "corrected", "left", "variance", "cumulativeVariance"];

    public static void Map(IEndpointRouteBuilder api)
    {
        MapOne(api);
        MapSideBySide(api);
        MapOfMonth(api);
    }

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/weeks/{week}",
            async (HttpContext http, Caller caller, string week, string? on, string? atLine, string? at,
                WeekReader weeks) =>
            {
                Reads.OnlyTakes(http, "on", "atLine", "at");
                var read = await ReadAsync(weeks, http, caller, AsOf(on, atLine, at),
                    (household, _) => [WeekSlice.Whole(Reads.Week(week, household)!.Value)]).ConfigureAwait(false);
                return await AnswerAsync(http, read, $"{read.Sheets[0].Slice.Week}",
                    () => WeekAnswer.Of(read)[0] with { BookLine = read.Book.Line }).ConfigureAwait(false);
            })
        .IsHeavy("atLine", "at")
        .Produces<WeekAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status422UnprocessableEntity)
        .WithSummary("A week against its plan: each spending compartment's figures, variances, and the pace of a "
            + "running week")
        .WithDescription("`week` is written 2026-W47, or by its first day where weeks do not start on Monday. "
            + Figures)
        .WithParameter("week", "The week, by its ISO 8601 number or its first day.", "2026-W47", ParameterForm.Week)
        .WithAsOf()
        .WithExample(null, $$"""{ {{RunningWeek}}, "bookLine": 112}""");

    private static void MapSideBySide(IEndpointRouteBuilder api) => api
        .MapGet("/weeks", async (HttpContext http, Caller caller, string? from, string? to, string? on,
            string? atLine, string? at, WeekReader weeks) =>
        {
            Reads.OnlyTakes(http, "from", "to", "on", "atLine", "at");
            var read = await ReadAsync(weeks, http, caller, AsOf(on, atLine, at),
                (household, today) => Asked(household, today, from, to)).ConfigureAwait(false);
            return await AnswerAsync(http, read, $"{read.Sheets[0].Slice.Week} to {read.Sheets[^1].Slice.Week}",
                () => new WeeksAnswer(WeekAnswer.Of(read), read.Book.Line)).ConfigureAwait(false);
        })
        .IsHeavy("atLine", "at")
        .Produces<WeeksAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Weeks against their plan, from one to another")
        .WithDescription($"At most {MostWeeks} weeks, the last {UsualWeeks} if left out. The figures are those of "
            + "`/weeks/{week}`.")
        .WithParameter("from",
            "The first week, or a day in it; seven weeks before the last if left out.", "2026-W40",
            ParameterForm.Week)
        .WithParameter("to", "The last week, or a day in it; the household's present one if left out.", "2026-W47",
            ParameterForm.Week)
        .WithAsOf()
        .WithExample(null, $$"""{"weeks": [{ {{RunningWeek}} }], "bookLine": 112}""");

    private static void MapOfMonth(IEndpointRouteBuilder api) => api
        .MapGet("/months/{month}/weeks",
            async (HttpContext http, Caller caller, string month, string? on, string? atLine, string? at,
                WeekReader weeks) =>
            {
                Reads.OnlyTakes(http, "on", "atLine", "at");
                var asked = Month.Of(Reads.Month(month)!.Value);
                var read = await ReadAsync(weeks, http, caller, AsOf(on, atLine, at),
                    (household, _) => WeekSlice.Of(asked, household.FirstDayOfWeek)).ConfigureAwait(false);
                return await AnswerAsync(http, read, Written.MonthName(asked.First),
                    () => MonthByWeeksAnswer.Of(month, read)).ConfigureAwait(false);
            })
        .IsHeavy("atLine", "at")
        .Produces<MonthByWeeksAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status422UnprocessableEntity)
        .WithSummary("A month by weeks, the first and the last cut at its borders")
        .WithDescription("The plan of a week that is cut is shared by days, to the minor unit. Its two parts add "
                + "up to the week. The figures are those of `/weeks/{week}`.")
        .WithParameter("month", "The month.", "2026-11", ParameterForm.Month)
        .WithAsOf()
        .WithExample(null, $$"""
            {"month": "2026-11", "weeks": [{ {{RunningWeek}} }, {{CutWeek}}],
             "compartments": [{"compartment": "ferry-fares", "label": "Ferry fares", {{WholeMonth}} }], "totals": { {{WholeMonth}} }, "bookLine": 121}
            """);

    private static IReadOnlyList<WeekSlice> Asked(Household household, DateOnly today, string? from, string? to)
    {
        var present = Week.Of(today, household.FirstDayOfWeek);
        var first = Reads.WeekHolding(from, household, "from");
        var last = Reads.WeekHolding(to, household, "to") ?? (first > present ? first.Value : present);
        first ??= Week.Of(last.First.AddDays(-7 * (UsualWeeks - 1)), household.FirstDayOfWeek);
        var weeks = ((last.First.DayNumber - first.Value.First.DayNumber) / 7) + 1;
        return weeks switch
        {
            < 1 => throw new MalformedException("from",
                $"`from` is in {first}, after `to` in {last}: write the earlier one in `from`."),
            > MostWeeks => throw new MalformedException("from",
                $"From {first} to {last} are {weeks} weeks: ask for at most {MostWeeks} at a time."),
            _ => WeekSlice.Whole(first.Value, last),
        };
    }

    // The present week is the one that `on` lies in.
    private static AsOf AsOf(string? on, string? atLine, string? at) =>
        Reads.AsOf(on, atLine, at) is var asOf && (asOf.On is not { } day || Week.IsTold(day)) ? asOf
        : throw new MalformedException("on", "Weeks are told for the years 1900 to 9998: ask for a day in them.");

    private static Task<WeekSheets> ReadAsync(WeekReader weeks, HttpContext http, Caller caller, AsOf asOf,
        Func<Household, DateOnly, IReadOnlyList<WeekSlice>> ask) =>
        weeks.ReadAsync(caller.Household, (household, today) =>
        {
            var slices = ask(household, today);
            return asOf.On is null || asOf.On >= slices[0].First ? slices
                : throw new MalformedException("on",
                    $"{asOf.On:O} lies before {slices[0].First:O}, the first day asked for: ask for a day in the weeks "
                        + $"or after them.");
        }, asOf, http.RequestAborted);

    private static async Task<IResult> AnswerAsync<T>(HttpContext http, WeekSheets read, string of, Func<T> answer)
    {
        Answers.StampLine(http, read.Book.Line);
        return Forms.Of(http, Form.Csv, Form.Html) switch
        {
            Form.Csv => await Csv.OfAsync(Heading,
                WeekAnswer.Of(read).SelectMany(week => week.Compartments.Select(row => Cells(week, row))))
                .ConfigureAwait(false),
            Form.Html => await PrintedPages.OfAsync<WeeksPage>(http, read.Book, read.Book.Line, new()
            {
                [nameof(WeeksPage.Household)] = read.Book.Household!.Name,
                [nameof(WeeksPage.Currency)] = read.Book.Household.Currency?.Code,
                [nameof(WeeksPage.Of)] = of,
                [nameof(WeeksPage.Weeks)] = WeekAnswer.Of(read),
                [nameof(WeeksPage.Together)] = answer() as MonthByWeeksAnswer,
                [nameof(WeeksPage.BookLine)] = read.Book.Line,
            }).ConfigureAwait(false),
            _ => TypedResults.Ok(answer()),
        };
    }

    private static IReadOnlyList<object?> Cells(WeekAnswer week, WeekRowAnswer row) =>
    [
        week.Week, week.FirstDay, week.LastDay, row.Compartment, row.Planned, row.CarriedIn, row.Filled, row.Spent,
        row.MovedIn, row.MovedOut, row.OverShort, row.Corrected, row.Left, row.Variance, row.CumulativeVariance,
    ];
}
