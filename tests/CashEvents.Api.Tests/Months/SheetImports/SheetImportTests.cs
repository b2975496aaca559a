using System.Globalization;
using System.Text;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class SheetImportTests(SharedServer shared)
{
    [Fact]
    public async Task Rows_become_fills_and_spends_dated_as_on_paper_in_one_entry()
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.ImportAsync(PaperSheet.Ferry)).MustBe(201).Json;

        Assert.Equal((6, 0, 0, "27.30", "27.30", 11),
            (Number(answer, "new"), Number(answer, "there"), answer.GetProperty("findings").GetArrayLength(),
                Raw(answer, "sheetCloses"), Raw(answer, "bookCloses"), Number(answer, "entryId")));
        var lines = await household.LinesAsync("after=10");
        Assert.Equal(
            ["fill 2026-11-02 60.00 November pay", "spend 2026-11-03 8.40 Return to the mainland",
                "spend 2026-11-05 8.40 Return to the mainland", "spend 2026-11-05 8.40 Return to the mainland",
             "spend 2026-11-09 12.50 Parcel, by the early boat",
             "fill 2026-11-13 5.00 Deposit for the hired bicycle back"],
            lines.Select(
                l => $"{Text(l, "kind")} {Text(l, "occurredOn")} {Raw(l, "amount")} {Text(l, "description")}"));
        Assert.All(lines, l => Assert.Equal(11, Number(l, "entryId")));
        Assert.Equal("27.30", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_dry_run_shows_what_would_be_written_and_writes_nothing()
    {
        var household = await shared.HarbourRowAsync();

        var dry = (await household.WithoutWritingAsync(
            _ => household.ImportAsync(PaperSheet.Ferry, "compartment=ferry-fares&dryRun=true"))).MustBe(200).Json;
        var written = (await household.ImportAsync(PaperSheet.Ferry)).MustBe(201).Json;

        Assert.True(dry.GetProperty("dryRun").GetBoolean());
        Assert.Empty(dry.GetProperty("lines").EnumerateArray());
        Assert.Equal("27.30", Raw(dry.GetProperty("balances")[0], "balance"));
        Assert.Equal(Shown(dry), Shown(written));
        Assert.Equal(dry.GetProperty("balances").GetRawText(), written.GetProperty("balances").GetRawText());
    }

    [Fact]
    public async Task A_sheet_is_written_once_however_often_it_is_sent()
    {
        var household = await shared.HarbourRowAsync();
        (await household.ImportAsync(PaperSheet.Ferry)).MustBe(201);

        var again = (await household.WithoutWritingAsync(_ => household.ImportAsync(PaperSheet.Ferry)))
            .MustBe(200).Json;

        Assert.Equal((0, 6), (Number(again, "new"), Number(again, "there")));
        Assert.Equal([11, 12, 13, 14, 15, 16],
            again.GetProperty("rows").EnumerateArray().Select(r => Number(r, "line")));
    }

    [Fact]
    public async Task Of_a_longer_sheet_only_the_new_rows_are_written()
    {
        var household = await shared.HarbourRowAsync();
        (await household.ImportAsync(PaperSheet.Ferry)).MustBe(201);

        var longer = (await household.ImportAsync(PaperSheet.Ferry + "2026-11-13,Return to the "
            + "mainland,-8.40,18.90\n2026-11-14,Return to the mainland,-8.40,10.50\n")).MustBe(201).Json;

        Assert.Equal((2, 6, "10.50"), (Number(longer, "new"), Number(longer, "there"), Raw(longer, "bookCloses")));
        Assert.Equal("10.50", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task The_next_page_of_a_sheet_goes_on_from_the_books_balance()
    {
        var household = await shared.HarbourRowAsync();
        (await household.ImportAsync(PaperSheet.Ferry)).MustBe(201);

        (await household.ImportAsync("date,description,amount,balance\n2026-11-13,Ices at the "
            + "pier,-4.00,23.30\n2026-11-14,Return to the mainland,-8.40,14.90\n")).MustBe(201);

        Assert.Equal("14.90", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task The_next_page_may_begin_on_the_same_day_with_a_row_like_the_last()
    {
        var household = await shared.HarbourRowAsync();
        (await household.ImportAsync(
            "date,description,amount,balance\n2026-11-02,Pay,60.00,60.00\n2026-11-03,Out,-8.40,51.60\n")).MustBe(201);
        const string next = "date,description,amount,balance\n2026-11-03,Out,-8.40,43.20\n2026-11-04,Out,-8.40,34.80\n";

        var asked = (await household.WithoutWritingAsync(_ => household.ImportAsync(next)))
            .MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();
        (await household.ImportAsync(next, "compartment=ferry-fares&accept=2:new")).MustBe(201);
        (await household.WithoutWritingAsync(_ => household.ImportAsync(next, "compartment=ferry-fares&accept=2:new")))
            .MustBe(200);
        (await household.WithoutWritingAsync(_ => household.ImportAsync(next))).MustBe(200);

        Assert.Equal(("perhapsThere", 12), (Text(asked, "kind"), Number(asked, "line")));
        Assert.Equal("34.80", await household.HoldsAsync("ferry-fares"));
    }

    // The sheet begins with 60.00 that the book never had; once its first row is in the book, the book has 60.00 too.
    [Fact]
    public async Task A_sheet_that_never_agreed_with_the_book_is_not_taken_for_the_next_page_when_it_is_sent_again()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet =
            "date,description,amount,balance\n2026-11-02,Pay,60.00,120.00\n2026-11-03,Out,-8.40,111.60\n";
        (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=2:amount")).MustBe(201);

        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet, "compartment=ferry-fares&accept=2:amount")))
            .MustBeProblem(422, "sheet-does-not-fit");
        (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit");
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet, "compartment=ferry-fares&accept=2:there"))).MustBe(200);
    }

    [Fact]
    public async Task A_slip_in_the_first_row_is_told_put_right_and_known_again()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = "date,description,amount,balance\n2026-11-02,Pay,6.00,60.00\n2026-11-03,Out,-8.40,51.60\n";

        var finding = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();
        (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=2:balance")).MustBe(201);
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet, "compartment=ferry-fares&accept=2:balance"))).MustBe(200);
        (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet))).MustBe(200);

        Assert.Equal(("opening", "slide"), (Text(finding, "kind"), Text(finding, "slip")));
        Assert.Equal("51.60", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Lines_typed_in_by_hand_are_there_already()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-02");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-05", description: "Return to the mainland");

        var asked = await household.WithoutWritingAsync(_ => household.ImportAsync(PaperSheet.Ferry));
        var answer = (await household.ImportAsync(PaperSheet.Ferry, "compartment=ferry-fares&accept=2:there"))
            .MustBe(201).Json;

        // The fill has no description in the book: whether it is the same is for the keeper to say.
        var finding = asked.MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();
        Assert.Equal(("perhapsThere", 2, 11), (Text(finding, "kind"), Number(finding, "row"), Number(finding, "line")));
        Assert.Equal((4, 2), (Number(answer, "new"), Number(answer, "there")));
        Assert.Equal("27.30", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_row_that_was_reversed_is_not_written_again()
    {
        var household = await shared.HarbourRowAsync();
        (await household.ImportAsync(PaperSheet.Ferry)).MustBe(201);
        (await household.Keeper.PostAsync("/api/lines/15/reversal", """{"reason": "Sent back"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/lines/12/amendment",
            """{"reason": "Misread", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 8.60, "description": "Return to the mainland"}}""")).MustBe(201);

        var again = (await household.WithoutWritingAsync(_ => household.ImportAsync(PaperSheet.Ferry)))
            .MustBe(200).Json;

        Assert.Equal((0, 6), (Number(again, "new"), Number(again, "there")));
        Assert.Contains("notOnSheet", Text(again, "note"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Two_scripts_that_send_a_sheet_at_once_write_it_once()
    {
        var household = await shared.HarbourRowAsync();

        var replies = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => household.ImportAsync(PaperSheet.Ferry)));

        Assert.Single(replies, r => r.Status == 201);
        Assert.All(replies.Where(r => r.Status != 201), r => Assert.Equal(6, Number(r.MustBe(200).Json, "there")));
        Assert.Equal(16, await household.LineAsync());
    }

    [Fact]
    public async Task Under_one_idempotency_key_the_answer_stays_the_same()
    {
        var household = await shared.HarbourRowAsync();
        var first = (await household.ImportAsync(PaperSheet.Ferry, "compartment=ferry-fares",
            ("Idempotency-Key", "sheet-1"))).MustBe(201);
        await household.SpendAsync("ferry-fares", "2.00", on: "2026-11-04", description: "Tea on deck");

        var again = (await household.WithoutWritingAsync(
            _ => household.ImportAsync(PaperSheet.Ferry, "compartment=ferry-fares", ("Idempotency-Key", "sheet-1"))))
            .MustBe(201);

        Assert.Equal(first.Text, again.Text);
        (await household.ImportAsync(PaperSheet.Ferry, "compartment=market-days", ("Idempotency-Key", "sheet-1")))
            .MustBeProblem(422, "idempotency-key-reused");
    }

    [Fact]
    public async Task A_book_that_has_moved_on_is_left_alone()
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(PaperSheet.Ferry, "compartment=ferry-fares", ("If-Match", "\"9\""))))
            .MustBeProblem(412, "book-moved-on");
        (await household.ImportAsync(PaperSheet.Ferry, "compartment=ferry-fares", ("If-Match", "\"10\""))).MustBe(201);
    }

    [Fact]
    public async Task A_balance_that_the_book_does_not_know_is_brought_forward_when_that_is_said()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = "date,description,amount,balance\n2026-11-03,Return to the "
            + "mainland,-8.40,51.60\n2026-11-05,Return to the mainland,-8.40,43.20\n";

        var asked = await household.WithoutWritingAsync(_ => household.ImportAsync(sheet));
        var answer = (await household.ImportAsync(sheet, "compartment=ferry-fares&opening=broughtForward"))
            .MustBe(201).Json;
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet, "compartment=ferry-fares&opening=broughtForward"))).MustBe(200);
        (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet))).MustBe(200);

        var finding = asked.MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings")[0];
        Assert.Equal(("opening", "60.00", "0.00"),
            (Text(finding, "kind"), Raw(finding, "stands"), Raw(finding, "follows")));
        Assert.Equal("60.00", Raw(answer, "broughtForward"));
        Assert.Equal(["fill 2026-11-03 60.00 Brought forward", "spend 2026-11-03 8.40 Return to the mainland",
            "spend 2026-11-05 8.40 Return to the mainland"],
            (await household.LinesAsync("after=10"))
                .Select(l => $"{Text(l, "kind")} {Text(l, "occurredOn")} {Raw(l, "amount")} {Text(l, "description")}"));
    }

    [Fact]
    public async Task Nothing_is_brought_forward_into_a_book_that_has_more()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "70.00", on: "2026-11-01");

        (await household.WithoutWritingAsync(
            _ => household.ImportAsync("date,description,amount,balance\n2026-11-03,Return,-8.40,51.60\n",
                "compartment=ferry-fares&opening=broughtForward")))
            .MustBlame(422, "opening-below-book", "opening");
    }

    [Theory]
    [InlineData("2026-11-02,Pay,60.00,60.00\n2026-11-03,Engine repair,-70.00,-10.00\n", 409, "not-enough", "csv",
        "With this sheet")]
    [InlineData("2026-11-02,Pay,60.00,60.00\n2026-11-16,Return,-8.40,51.60\n", 422, "after-today", "date", "Row 3")]
    [InlineData("2026-10-02,Pay,60.00,60.00\n2026-11-03,Return,-8.40,51.60\n", 409, "month-closed", "date", "Row 2")]
    public async Task The_rules_of_the_book_hold_and_nothing_is_written(string rows, int status, string code,
        string field, string says)
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{"reason": "As it stands"}""")).MustBe(201);

        foreach (var dryRun in new[] { "", "&dryRun=true" })
        {
            var mend = (await household.WithoutWritingAsync(
                _ => household.ImportAsync("date,description,amount,balance\n" + rows,
                    "compartment=ferry-fares" + dryRun))).MustBlame(status, code, field);

            Assert.StartsWith(says, mend, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_sheet_may_be_dated_before_lines_that_the_book_has()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "100.00", on: "2026-09-01");
        await household.SpendAsync("ferry-fares", "95.00", on: "2026-11-14");

        (await household.ImportAsync("date,description,amount,balance\n2026-10-03,Season "
            + "ticket,-50.00,50.00\n2026-10-10,October pay,60.00,110.00\n")).MustBe(201);

        Assert.Equal("15.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task What_somebody_else_carries_is_not_spent_by_a_sheet_unless_that_is_said()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("ferry-fares", "20.00", on: "2026-11-02");
        var handover = (await partner.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "amount": 15.00}""")).MustBe(201).Json.GetProperty("id").GetInt64();
        const string sheet = "date,description,amount,balance\n2026-11-03,Tea on "
            + "deck,-3.00,17.00\n2026-11-03,Out,-8.40,8.60\n";

        foreach (var dryRun in new[] { "", "&dryRun=true" })
        {
            var mend = (await household.WithoutWritingAsync(
                _ => household.ImportAsync(sheet, "compartment=ferry-fares" + dryRun)))
                .MustBlame(409, "carried-by-another", "carried");
            Assert.StartsWith("Row 3: 'partner' carries 15.00 EUR", mend, StringComparison.Ordinal);
        }

        (await household.ImportAsync(sheet, "compartment=ferry-fares&carried=true")).MustBe(201);

        Assert.Equal([(handover, "-3.00"), (handover, "-8.40")],
            (await household.LinesAsync("kind=spend"))
                .Select(l => (l.GetProperty("handover").GetInt64(), Raw(l, "carried"))));
    }

    [Fact]
    public async Task A_refund_and_the_bank_part_are_read_where_the_sheet_has_columns_for_them()
    {
        var household = await shared.HarbourRowAsync();

        (await household.ImportAsync(
            "Kind;Balance;Holding;Date;In;Out;Description;Purser\nfill;60,00;bank;2/11/2026;60,00;;Pay;x\nspend;51,60;bank;13/11/2026;;8,40;Return;\nrefund;60,00;bank;14/11/2026;8,40;;Boat did not sail;\n")).MustBe(201);

        Assert.Equal("60.00", await household.HoldsAsync("ferry-fares", "bank"));
        Assert.Equal(["fill", "spend", "refund"],
            (await household.LinesAsync("after=10")).Select(l => Text(l, "kind")));
    }

    [Fact]
    public async Task The_same_may_be_sent_as_JSON()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/imports",
            JsonSerializer.Serialize(
                new
                {
                    compartment = "ferry-fares",
                    holding = "cash",
                    dateOrder = "dayFirst",
                    dryRun = false,
                    csv = PaperSheet.Ferry
                }))).MustBe(201);

        Assert.Equal("27.30", await household.HoldsAsync("ferry-fares"));
    }

    [ThoroughFact]
    public async Task Ten_thousand_rows_are_one_entry_and_one_more_is_too_many()
    {
        var household = await shared.HarbourRowAsync();
        var sheet = new StringBuilder("date,description,amount,balance\n");
        for (var row = 0; row < 10_000; row++)
        {
            sheet.Append(CultureInfo.InvariantCulture,
                $"{new DateOnly(2020, 1, 1).AddDays(row / 5):yyyy-MM-dd},Fare {row % 7},"
                    + $"{(row % 2 == 0 ? $"9.00,{(row / 2) + 9}" : $"-8.00,{(row / 2) + 1}")}.00\n");
        }

        var answer = (await household.ImportAsync(sheet.ToString())).MustBe(201).Json;
        (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet.ToString()))).MustBe(200);
        (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet + "2026-11-03,One more,1.00,5001.00\n")))
            .MustBlame(422, "sheet-length", "csv");
        // Nothing is read of what comes after, not even a quote that does not close; blank rows are rows, too.
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet + "2026-11-03,One more,1.00,5001.00\n2026-11-03,\"Open,1.00,5002.00\n")))
            .MustBlame(422, "sheet-length", "csv");
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync("date,description,amount,balance\n" + new string('\n', 200_000) + "\"\n")))
            .MustBlame(422, "sheet-length", "csv");
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(new string(',', 200_000) + "date,description,amount,balance\n")))
            .MustBlame(422, "columns-too-many", "csv");

        Assert.Equal((10_000, "5000.00"), (Number(answer, "new"), await household.HoldsAsync("ferry-fares")));
    }

    [Fact]
    public async Task A_key_imports_the_movements_that_it_may_write_and_any_key_may_look()
    {
        var household = await shared.HarbourRowAsync();
        var script = await household.IssueAsync("fare machine", "script", """["spend"]""");
        var viewer = await household.IssueAsync("wall display", "viewer");
        var sheet = Encoding.UTF8.GetBytes(PaperSheet.Ferry);

        (await household.WithoutWritingAsync(_ => script.ImportAsync(sheet))).MustBeProblem(403, "not-allowed");
        (await household.WithoutWritingAsync(_ => viewer.ImportAsync(sheet))).MustBeProblem(403, "not-allowed");
        (await household.WithoutWritingAsync(_ => viewer.ImportAsync(sheet, "compartment=ferry-fares&dryRun=true")))
            .MustBe(200);
    }

    [Theory]
    [InlineData("compartment=ferry-fare", 422, "compartment-unknown", "compartment")]
    [InlineData("holding=cash", 400, "malformed", "compartment")]
    [InlineData("compartment=ferry-fares&holding=purse", 400, "malformed", "holding")]
    [InlineData("compartment=ferry-fares&dateOrder=european", 400, "malformed", "dateOrder")]
    [InlineData("compartment=ferry-fares&decimalMark=dot", 400, "malformed", "decimalMark")]
    [InlineData("compartment=ferry-fares&dryRun=yes", 400, "malformed", "dryRun")]
    [InlineData("compartment=ferry-fares&opening=12.40", 400, "malformed", "opening")]
    [InlineData("compartment=ferry-fares&accept=everything", 400, "malformed", "accept")]
    [InlineData("compartment=ferry-fares&accept=two:amount", 400, "malformed", "accept")]
    [InlineData("compartment=ferry-fares&accept=2:amount:balance", 400, "malformed", "accept")]
    [InlineData("compartment=ferry-fares&dryrun=true", 400, "malformed", "dryrun")]
    public async Task A_parameter_that_can_not_be_read_is_named(string parameters, int status, string code,
        string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(_ => household.ImportAsync(PaperSheet.Ferry, parameters)))
            .MustBlame(status, code, field);
    }

    private static string[] Shown(JsonElement answer) =>
        [.. answer.GetProperty("rows").EnumerateArray()
            .Select(r =>
                $"{Number(r, "row")} {Text(r, "date")} {Text(r, "kind")} {Text(r, "description")} {Raw(r, "amount")} "
                    + $"{Text(r, "state")}")];

    private static string Raw(JsonElement element, string name) => element.GetProperty(name).GetRawText();

    private static string Text(JsonElement element, string name) => element.GetProperty(name).GetString()!;

    private static int Number(JsonElement element, string name) => element.GetProperty(name).GetInt32();
}
