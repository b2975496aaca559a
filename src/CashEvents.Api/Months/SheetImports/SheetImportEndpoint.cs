namespace CashEvents.Api.Months;

internal sealed class SheetImportEndpoint : IEndpoints
{
    // Each time the book moves on between reading and writing, the sheet is held against it again.
    private const int MostTries = 50;

    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/imports", async (HttpContext http, Caller caller, [AsParameters] SheetImportParameters parameters,
            BookReader books, TrackerReader trackers, WriteDesk desk, TimeProvider clock) =>
        {
            var request = await SheetImportRequest.ReadAsync(http, parameters).ConfigureAwait(false);
            var accepted = request.Accepted();
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var sheet = new SentSheet(request, accepted, book, caller, trackers);
            return request.DryRun is true
                ? await RehearseAsync(http, caller, sheet, books, clock).ConfigureAwait(false)
                : await WriteAsync(http, sheet, request, desk).ConfigureAwait(false);
        })
        .IsHeavy()
        .Accepts<SheetImportRequest>("application/json", "text/csv")
        .Produces<SheetImportAnswer>()
        .Produces<SheetImportAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Import a tracker sheet kept on paper: its rows become fills, spends and refunds, each "
            + "once, however often it is sent")
        .WithDescription("The sheet is CSV with a heading row: date, description, amount and balance, in any order, "
            + "separated "
            + "by commas, semicolons or tabs. Amounts in are positive and amounts out negative, or there are two "
            + "columns, in and out. Send it with `Content-Type: text/csv` and the other fields as parameters, or as "
            + "`csv` in a JSON object. `dryRun` shows what would be written; any key may do that. A row that the "
            + "book already has, by cash or bank, date, amount and description, is not written again. All new rows "
            + "are one entry. Nothing is written while a balance does not follow or a date is out of order. The same "
            + "holds where the sheet begins with another balance than the book, or the book has a movement in other "
            + "words. Mend the sheet, or say in `accept` what is right in each such row: `amount`, `balance`, "
            + "`date`, `there` or `new`. What can be read in several ways is asked about.")
        .WithParameter("compartment",
            "Whose sheet it is. This and the parameters below go with a text/csv body.", "ferry-fares")
        .WithParameter("holding", "Cash or bank, where the sheet does not say it row by row; cash if left out.", "cash",
            ParameterForm.Word<Holding>())
        .WithParameter("dateOrder",
            "The order of the sheet's dates, where they do not show it: dayFirst, monthFirst or yearFirst.", "dayFirst",
            ParameterForm.Word<DateOrder>())
        .WithParameter("decimalMark",
            "The sheet's decimal mark, where its amounts do not show it: point or comma.", "comma",
            ParameterForm.Word<DecimalMark>())
        .WithParameter("opening",
            "broughtForward fills what the sheet begins with and the book does not know; the two have to agree if "
                + "left out.", "broughtForward", ParameterForm.Word<OpeningBalance>())
        .WithParameter("accept",
            "What is right in rows in which something does not fit: amount, balance, date, there or new, for one row "
                + "like 12:balance, with commas between.", "12:balance,15:date")
        .WithParameter("carried",
            "true if the spends were paid from notes that somebody carries; if left out, yes when the key is the "
                + "carrier's own.", "true", ParameterForm.YesOrNo)
        .WithParameter("dryRun", "true to write nothing and show what would be written.", "true",
            ParameterForm.YesOrNo)
        .WithExample(
            """{"compartment": "saved-in-november", "csv": "date,description,amount,balance\n2026-11-02,November pay,20.00,20.00\n2026-11-20,From the jar on the sill,8.40,28.40\n"}""",
            """
            {"dryRun": false, "compartment": "saved-in-november", "lines": [169], "new": 1, "there": 1,
             "rows": [
               {"row": 2, "date": "2026-11-02", "kind": "fill", "holding": "cash", "description": "November pay", "amount": 20.00, "state": "there", "balance": 20.00, "line": 127},
               {"row": 3, "date": "2026-11-20", "kind": "fill", "holding": "cash", "description": "From the jar on the sill", "amount": 8.40, "state": "new", "balance": 28.40, "line": 169}],
             "findings": [], "read": ["Dates are read year first: they can't be read another way."], "bookCloses": 28.40, "notOnSheet": [],
             "balances": [{"compartment": "saved-in-november", "holding": "cash", "balance": 28.40}], "entryId": 169, "sheetCloses": 28.40}
            """);

    private static async Task<IResult> WriteAsync(HttpContext http, SentSheet sheet, SheetImportRequest request,
        WriteDesk desk)
    {
        for (var tries = 1; ; tries++)
        {
            var command = await sheet.AgainstBookAsync(null, http.RequestAborted).ConfigureAwait(false);
            try
            {
                var (entry, _) = await desk.WriteAsync(http, command, "import", request).ConfigureAwait(false);
                if (entry.Id is { } first && first != command.Known.Line + 1)
                {
                    // A repeated request gets the answer that it got: from the book as it was then.
                    command = await sheet.AgainstBookAsync(first - 1, http.RequestAborted).ConfigureAwait(false);
                }

                var answer = sheet.Answer(sheet.Import(command), entry.Lines,
                    entry.Balances.Select(b => (b.Place, b.Balance)));
                return entry.Id is null
                    ? TypedResults.Ok(answer)
                    : TypedResults.Created($"/api/lines/{entry.Id}", answer);
            }
            catch (RefusedException refused) when (refused.Refusal.Sort == RefusalSort.Stale
                && http.Request.Headers.IfMatch.ToString() is "" or "*")
            {
                MustNotTryForEver(tries);
            }
            catch (RefusedException refused) when (refused.Refusal.Code == ImportSheet.DoesNotFit)
            {
                var findings = sheet.Import(command).Findings.Select(f => FindingAnswer.Of(f, sheet.Currency));
                return Problems.Answer(Problems.Of(refused.Refusal, sheet.Currency) with { Findings = [.. findings] });
            }
        }
    }

    private static async Task<IResult> RehearseAsync(HttpContext http, Caller caller, SentSheet sheet,
        BookReader books, TimeProvider clock)
    {
        var command = await sheet.AgainstBookAsync(null, http.RequestAborted).ConfigureAwait(false);
        var whole = await books.ReadWholeAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        for (var tries = 1; command.Known.Line != whole.Line; tries++)
        {
            MustNotTryForEver(tries);
            command = await sheet.AgainstBookAsync(null, http.RequestAborted).ConfigureAwait(false);
            whole = command.Known.Line == whole.Line
                ? whole
                : await books.ReadWholeAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        }

        WriteDesk.MustStandAsMatched(http, whole);
        Answers.StampLine(http, whole.Line);
        var import = sheet.Import(command);
        try
        {
            var after = import.Open.Any()
                ? whole
                : whole.Decide(command, whole.Household!.DateAt(clock.GetUtcNow())).After;
            var parts = import.Rows.Select(r => new Part(sheet.Compartment, r.Row.Holding)).Distinct();
            return TypedResults.Ok(sheet.Answer(import, null,
                parts.Select(p => (p, after.Compartments[p.Compartment].Balance(p.Holding)))));
        }
        catch (RefusalException refused)
        {
            throw new RefusedException(refused.Refusal, sheet.Currency);
        }
    }

    private static void MustNotTryForEver(int tries)
    {
        if (tries == MostTries)
        {
            throw new BookBusyException("Others write in this book without a pause: send the sheet again in a moment.");
        }
    }
}
