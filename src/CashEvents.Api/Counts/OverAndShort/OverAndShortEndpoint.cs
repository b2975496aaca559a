namespace CashEvents.Api.Counts;

internal sealed class OverAndShortEndpoint : IEndpoints
{
    private static readonly string[] _heading =
        ["occurredOn", "line", "count", "compartment", "holding", "by", "reason", "difference", "net", "gross",
            "compartmentNet", "compartmentGross"];

    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/over-and-short",
            async (HttpContext http, Caller caller, string? from, string? to, BookReader books, LineReader lines,
                TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "from", "to");
            var (askedFrom, askedTo) = (Reads.Day(from, "from"), Reads.Day(to, "to"));
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var last = askedTo ?? book.Household!.DateAt(clock.GetUtcNow());
            var first = askedFrom ?? (last > DateOnly.MinValue.AddYears(1)
                ? last.AddYears(-1).AddDays(1)
                : DateOnly.MinValue);
            if (first > last)
            {
                throw new MalformedException("from",
                    $"{first:O} is after {last:O}: the first day comes before the last.");
            }

            var settlements = await lines.ReadAsync(caller.Household,
                new LineFilter(0, int.MaxValue, LineKinds.Names[typeof(CountSettled)], From: first, To: last),
                http.RequestAborted).ConfigureAwait(false);
            // What was undone was no over or short after all. The lines are read after the book: what was written
            // between is left out.
            var report = OverAndShortReport.Of(
                from line in settlements
                where line.Number <= book.Line && (line.ReversedBy is null || line.ReversedBy > book.Line)
                let settled = (CountSettled)line.Event
                select new SettledDifference(line.Number, settled.Count,
                    new Part(settled.Compartment, settled.Holding), settled.Difference, settled.OccurredOn, line.By,
                    settled.Description));
            var answer = OverAndShortAnswer.Of(first, last, report, book);
            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Csv, Form.Html) switch
            {
                Form.Csv => await Csv.OfAsync(_heading, answer.Differences.Select(Cells)).ConfigureAwait(false),
                Form.Html => await PrintedPages.OfAsync<OverAndShortPage>(http, book, book.Line, new()
                {
                    [nameof(OverAndShortPage.Household)] = book.Household!.Name,
                    [nameof(OverAndShortPage.Report)] = answer,
                }).ConfigureAwait(false),
                _ => TypedResults.Ok(answer),
            };
        })
        .Produces<OverAndShortAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads()
        .WithSummary("Over and short: the differences that were settled, by compartment, key and month, with running "
            + "sums and control charts")
        .WithDescription("Settlements that were reversed are left out. The control charts are individuals charts with "
            + "the "
            + "limits mean ± 2.66 × mean moving range, as in any handbook of statistical process control. A value "
            + "outside is a reason to look, and no proof.")
        .WithParameter("from",
            "Only what was accepted on this day or later; a year before the last day if left out.", "2025-11-16",
            ParameterForm.Day)
        .WithParameter("to", "Only what was accepted on this day or earlier; today if left out.", "2026-11-15",
            ParameterForm.Day)
        .WithExample(null, """
            {"from": "2025-11-16", "to": "2026-11-15", "currency": "EUR",
             "differences": [
               {"line": 62, "countId": 61, "occurredOn": "2026-11-03", "compartment": "ferry-fares", "holding": "cash", "by": "keeper", "reason": "Looked everywhere", "difference": -1.00, "net": -1.00, "gross": 1.00, "compartmentNet": -1.00, "compartmentGross": 1.00},
               {"line": 68, "countId": 67, "occurredOn": "2026-11-10", "compartment": "ferry-fares", "holding": "cash", "by": "keeper", "reason": "A coin in the lining", "difference": 0.50, "net": -0.50, "gross": 1.50, "compartmentNet": -0.50, "compartmentGross": 1.50}],
             "compartments": [{"compartment": "ferry-fares", "label": "Ferry fares", "sums": {"settlements": 2, "over": 0.50, "short": 1.00, "net": -0.50, "gross": 1.50},
               "chart": {"mean": -0.25, "meanMovingRange": 1.50, "lower": -4.24, "upper": 3.74, "outside": [], "note": "Limits of fewer than 20 differences move a good deal with each further one."}}],
             "keys": [{"by": "keeper", "sums": {"settlements": 2, "over": 0.50, "short": 1.00, "net": -0.50, "gross": 1.50}}],
             "months": [{"month": "2026-11", "sums": {"settlements": 2, "over": 0.50, "short": 1.00, "net": -0.50, "gross": 1.50}, "net": -0.50, "gross": 1.50}],
             "sums": {"settlements": 2, "over": 0.50, "short": 1.00, "net": -0.50, "gross": 1.50}, "bookLine": 73,
             "chart": {"mean": -0.25, "meanMovingRange": 1.50, "lower": -4.24, "upper": 3.74, "outside": [], "note": "Limits of fewer than 20 differences move a good deal with each further one."}}
            """);

    private static IReadOnlyList<object?> Cells(SettledDifferenceAnswer d) =>
        [d.OccurredOn, d.Line, d.CountId, d.Compartment, d.Holding, d.By, d.Reason, d.Difference, d.Net, d.Gross,
            d.CompartmentNet, d.CompartmentGross];
}
