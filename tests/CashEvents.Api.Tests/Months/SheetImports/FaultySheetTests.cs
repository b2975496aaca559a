using System.Text;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Months;

/// <summary>Sheets with the faults that paper has, each rehearsed, told and put right.</summary>
public sealed class FaultySheetTests(SharedServer shared)
{
    private const string Heading = "date,description,amount,balance\n";

    public static TheoryData<string, string, int, string?, string?, string> Slips => new()
    {
        // What stands in row 4, and: kind, row, slip, what to accept, what is then spent in row 4.
        { "2026-11-05,Return,-4.80,43.20", "amount", 4, "transposition", "4:balance", "-8.40" },
        { "2026-11-05,Return,8.40,43.20", "amount", 4, "wrongSide", "4:balance", "-8.40" },
        { "2026-11-05,Return,-0.84,43.20", "amount", 4, "slide", "4:balance", "-8.40" },
        { "2026-11-05,Return,-16.80,43.20", "amount", 4, "doubling", "4:balance", "-8.40" },
        { "2026-11-05,Return,,43.20", "amount", 4, "omission", "4:balance", "-8.40" },
        { "2026-11-05,Return,-8.40,42.30", "balance", 4, "transposition", "4:amount", "-8.40" },
        { "2026-11-05,Return,-8.40,40.00", "balance", 4, null, "4:amount", "-8.40" },
    };

    [Theory]
    [MemberData(nameof(Slips))]
    public async Task A_slip_is_told_with_its_row_and_what_would_follow(string row, string kind, int number,
        string? slip, string? accept, string amount)
    {
        var household = await shared.HarbourRowAsync();
        var sheet = Heading + "2026-11-02,Pay,60.00,60.00\n2026-11-03,Return,-8.40,51.60\n" + row
            + "\n2026-11-09,Parcel,-12.50,30.70\n";

        var dry = (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet, "compartment=ferry-fares&dryRun=true"))).MustBe(200).Json;
        var finding = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();

        Assert.Equal(dry.GetProperty("findings")[0].GetRawText(), finding.GetRawText());
        Assert.Equal("open", Row(dry, number).GetProperty("state").GetString());
        Assert.Equal((kind, number, slip, accept),
            (Text(finding, "kind"), finding.GetProperty("row").GetInt32(), Text(finding, "slip"),
                Text(finding, "likely")));
        Assert.Contains($"Row {number} ", Text(finding, "says"), StringComparison.Ordinal);
        Assert.Contains(accept!, Text(finding, "mend"), StringComparison.Ordinal);

        var written = (await household.ImportAsync(sheet, $"compartment=ferry-fares&accept={accept}")).MustBe(201).Json;
        Assert.Equal(amount, Row(written, 4).GetProperty("amount").GetRawText());
        Assert.Equal("30.70", await household.HoldsAsync("ferry-fares"));

        // Sent again, with or without the word, it is there.
        (await household.WithoutWritingAsync(
            _ => household.ImportAsync(sheet, $"compartment=ferry-fares&accept={accept}"))).MustBe(200);
        (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet))).MustBe(200);
    }

    [Fact]
    public async Task The_amounts_may_be_right_where_the_balances_go_on_from_a_wrong_sum()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = Heading
            + "2026-11-02,Pay,60.00,60.00\n2026-11-03,Return,-8.40,50.60\n2026-11-05,Return,-8.40,42.20\n";

        var finding = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();
        var answer = (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=3:amount")).MustBe(201).Json;

        Assert.Equal((3, "-8.40", "-9.40"),
            (finding.GetProperty("row").GetInt32(), finding.GetProperty("stands").GetRawText(),
                finding.GetProperty("follows").GetRawText()));
        Assert.Contains("-1.00 EUR", Text(finding, "says"), StringComparison.Ordinal);
        Assert.Equal(("42.20", "43.20"),
            (answer.GetProperty("sheetCloses").GetRawText(), answer.GetProperty("bookCloses").GetRawText()));
        Assert.StartsWith("The sheet closes at 42.20 EUR and the book at 43.20 EUR", Text(answer, "note"),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_row_that_stands_twice_is_left_out_when_its_balance_is_right()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = Heading
            + "2026-11-02,Pay,60.00,60.00\n2026-11-03,Return,-8.40,51.60\n2026-11-03,Return,-8.40,51.60\n2026-11-05,Return,-8.40,43.20\n";

        var finding = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();
        (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=balance")).MustBe(201);

        Assert.Contains("the row may stand on the sheet twice", Text(finding, "says"), StringComparison.Ordinal);
        Assert.Equal("43.20", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_skipped_balance_is_bridged_and_a_slip_on_the_way_is_still_found()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = Heading
            + "2026-11-02,Pay,60.00,60.00\n2026-11-03,Return,-8.40,\n2026-11-05,Return,-8.40,43.20\n2026-11-06,Ices,-5.40,\n2026-11-09,Parcel,-12.50,26.20\n";

        var problem = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit");
        var answer = (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=5:balance")).MustBe(201).Json;

        var finding = problem.GetProperty("findings").EnumerateArray().Single();
        Assert.Equal((5, "transposition", "-4.50"),
            (finding.GetProperty("row").GetInt32(), Text(finding, "slip"),
                finding.GetProperty("follows").GetRawText()));
        Assert.Contains(Read(answer), note => note.StartsWith("Rows 3 and 5 ", StringComparison.Ordinal));
        Assert.Equal("26.20", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Two_rows_that_changed_places_are_read_in_the_order_of_their_balances()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = Heading
            + "2026-11-02,Pay,60.00,60.00\n2026-11-09,Parcel,-12.50,39.10\n2026-11-03,Return,-8.40,51.60\n2026-11-10,Return,-8.40,30.70\n";

        var answer = (await household.ImportAsync(sheet)).MustBe(201).Json;

        Assert.Contains(Read(answer), note => note.StartsWith("Rows 3 and 4 changed places", StringComparison.Ordinal));
        Assert.Equal("30.70", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task A_row_that_was_written_late_has_its_date_confirmed()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = Heading
            + "2026-11-02,Pay,60.00,60.00\n2026-11-09,Parcel,-12.50,47.50\n2026-11-03,Return,-8.40,39.10\n";

        var finding = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit").GetProperty("findings").EnumerateArray().Single();
        (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=4:date")).MustBe(201);

        Assert.Equal(("date", 4), (Text(finding, "kind"), finding.GetProperty("row").GetInt32()));
        Assert.Equal(["2026-11-02", "2026-11-03", "2026-11-09"],
            (await household.LinesAsync("after=10")).Select(l => l.GetProperty("occurredOn").GetString()));
    }

    [Fact]
    public async Task Blank_rows_a_byte_order_mark_and_the_line_ends_of_Windows_hinder_nothing_and_rows_keep_numbers()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet =
            "\uFEFFDATE,Description,Amount,Balance\r\n2026-11-02,Pay,60.00,60.00\r\n\r\n2026-11-03,Return,-8.40,51.60\r\n,,,\r\n2026-11-05,Return,-4.80,43.20\r\n2026-11-06,Ices,-3.20,40.00\r\n";

        var problem = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBeProblem(422, "sheet-does-not-fit");
        var answer = (await household.ImportAsync(sheet, "compartment=ferry-fares&accept=6:balance")).MustBe(201).Json;

        Assert.Equal(6, problem.GetProperty("findings").EnumerateArray().Single().GetProperty("row").GetInt32());
        Assert.Contains("Left out: blank rows 3, 5.", Read(answer));
        Assert.Equal("40.00", await household.HoldsAsync("ferry-fares"));
    }

    [Theory]
    [InlineData("date;description;amount;balance\n2026-11-02;Pay;1.060,00;1.060,00\n2026-11-03;Return;-8,40;1.051,60\n",
        "1051.60")]
    [InlineData("date\tdescription\tamount\tbalance\n2026-11-02\tPay\t1 060,00 €\t1 060,00 "
        + "€\n2026-11-03\tReturn\t-€8,40\t1 051,60 €\n", "1051.60")]
    [InlineData("date,description,amount,balance\n2026-11-02,Pay,\"1,060.00\",\"EUR "
        + "1,060.00\"\n2026-11-03,Return,\u22128.40,\"1'051.60\"\n", "1051.60")]
    [InlineData("date,description,amount,balance\n2026-11-02,Pay,60.00,60.00\n2026-11-03,Return,\"-8,40\",51.60\n",
        "51.60")]
    [InlineData("date,description,amount,balance\n2026-11-02,Pay,60,60\n2026-11-03,Return,(8.4),51.6\n", "51.60")]
    [InlineData("date,description,amount,balance\n2026-11-02,Pay,1.200,1.200\n2026-11-03,Return,-8.4,1191.6\n", null)]
    [InlineData("date,description,amount,balance\n2026-11-02,Pay,1.200,1.200\n2026-11-03,Return,-100,1100\n",
        "1100.00")]
    public async Task Decimal_marks_and_currency_signs_are_understood_where_they_have_one_meaning(string sheet,
        string? holds)
    {
        var household = await shared.HarbourRowAsync();

        var reply = await household.ImportAsync(sheet);

        if (holds is null)
        {
            reply.MustBeProblem(422, "too-many-decimals");
        }
        else
        {
            reply.MustBe(201);
            Assert.Equal(holds, await household.HoldsAsync("ferry-fares"));
        }
    }

    [Fact]
    public async Task A_mark_that_may_be_either_is_asked_about()
    {
        var household = await shared.HarbourRowAsync();
        const string sheet = "date,description,amount,balance\n2026-11-02,Pay,\"1,200\",\"1,200\"\n";

        var mend = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBlame(422, "decimal-mark-unclear", "decimalMark");
        (await household.ImportAsync(sheet, "compartment=ferry-fares&decimalMark=point")).MustBe(201);

        Assert.StartsWith("'1,200' in row 2", mend, StringComparison.Ordinal);
        Assert.Equal("1200.00", await household.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task What_the_balances_say_of_a_mark_is_told_as_the_evidence_it_is()
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.ImportAsync(
            "date,description,amount,balance\n2026-11-02,Pay,500,500\n2026-11-03,Prize,1.200,1700\n")).MustBe(201).Json;

        Assert.Contains(Read(answer), note => note.StartsWith("The comma ", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("3/10/2026", "4/10/2026", "dayFirst or monthFirst")]
    [InlineData("03.10.26", "04.10.26", "dayFirst or monthFirst or yearFirst")]
    [InlineData("3-10-2026", "4-10-2026", "dayFirst or monthFirst")]
    public async Task Dates_that_can_be_read_in_several_ways_are_asked_about(string first, string second, string orders)
    {
        var household = await shared.HarbourRowAsync();
        var sheet = Heading + $"{first},Pay,60.00,60.00\n{second},Return,-8.40,51.60\n";

        var mend = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet)))
            .MustBlame(422, "date-order-unclear", "dateOrder");
        (await household.ImportAsync(sheet, "compartment=ferry-fares&dateOrder=dayFirst")).MustBe(201);

        Assert.Contains($"Row 2 says {first}: that is 2026-10-03 when read day first, 2026-03-10 when read month first",
            mend, StringComparison.Ordinal);
        Assert.EndsWith($"send dateOrder={orders}.", mend, StringComparison.Ordinal);
        Assert.Equal(["2026-10-03", "2026-10-04"],
            (await household.LinesAsync("after=10")).Select(l => l.GetProperty("occurredOn").GetString()));
    }

    [Theory]
    [InlineData("3/10/2026", "14/10/2026", "2026-10-03", "2026-10-14", "day first: 14/10/2026")]
    [InlineData("10/3/2026", "10/14/2026", "2026-10-03", "2026-10-14", "month first: 10/14/2026")]
    [InlineData("2026/10/3", "2026/10/14", "2026-10-03", "2026-10-14", "year first:")]
    [InlineData("10/10/2026", "11/11/2026", "2026-10-10", "2026-11-11", "day first:")]
    public async Task One_date_that_has_one_meaning_settles_the_order_of_all(string first, string second,
        string readFirst, string readSecond, string evidence)
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.ImportAsync(Heading + $"{first},Pay,60.00,60.00\n{second},Return,-8.40,51.60\n"))
            .MustBe(201).Json;

        Assert.Equal([readFirst, readSecond],
            answer.GetProperty("rows").EnumerateArray().Select(r => r.GetProperty("date").GetString()!));
        Assert.Contains(Read(answer), note => note.Contains(evidence, StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("", "columns-missing", "csv", "The file is empty")]
    [InlineData("\r\n \r\n", "columns-missing", "csv", "The file is empty")]
    [InlineData(Heading, "sheet-length", "csv", "The sheet has no rows")]
    [InlineData("date,amount,balance\n2026-11-02,60.00,60.00\n", "columns-missing", "csv",
        "There is no column description")]
    [InlineData("date,description,balance\n2026-11-02,Pay,60.00\n", "columns-missing", "csv",
        "There is no column amount")]
    [InlineData("date,description,amount,amount,balance\n2026-11-02,Pay,60.00,60.00,60.00\n", "columns-twice", "csv",
        "There are two columns amount")]
    [InlineData(Heading + "2026-11-02,Pay,60,00,60,00\n", "cells-too-many", "csv",
        "Row 2 has 6 cells, and the heading has 4")]
    [InlineData(Heading + "2026-11-02,\"Pay,60.00,60.00\n", "quotes-open", "csv", "Row 2 has a quote")]
    [InlineData(Heading + "2026-11-02,Pay \"early\",60.00,60.00\n", "quotes-open", "csv", "Row 2 has a quote")]
    [InlineData(Heading + "2026-11-02,Pay,60.00,60.00\n,Return,-8.40,51.60\n", "date-unreadable", "date",
        "Row 3 has no date")]
    [InlineData(Heading + "2026-11-31,Pay,60.00,60.00\n", "date-unreadable", "date", "'2026-11-31' in row 2")]
    [InlineData(Heading + "Monday,Pay,60.00,60.00\n", "date-unreadable", "date", "'Monday' in row 2")]
    [InlineData(Heading + "14/11/2026,Pay,60.00,60.00\n11/14/2026,Return,-8.40,51.60\n", "dates-mixed", "date",
        "The dates are written in several orders")]
    [InlineData(Heading + "2026-11-02,Pay,sixty,60.00\n", "amount-unreadable", "amount",
        "The amount of row 2, 'sixty', is no amount")]
    [InlineData(Heading + "2026-11-02,Pay,60.00,6.0.0\n", "balance-unreadable", "balance",
        "The balance of row 2, '6.0.0'")]
    [InlineData(Heading + "2026-11-02,Pay,$60.00,60.00\n", "amount-unreadable", "amount",
        "The amount of row 2, '$60.00', has '$' in it, and the book is kept in EUR")]
    [InlineData(Heading + "2026-11-02,Pay,6 00,60.00\n", "amount-unreadable", "amount",
        "The amount of row 2, '6 00', has spaces")]
    [InlineData(Heading + "2026-11-02,Pay,60.005,60.00\n", "too-many-decimals", "amount",
        "Row 2: 60.005 has 3 decimals")]
    [InlineData(Heading + "2026-11-02,Pay,,\n", "amount-missing", "amount",
        "Row 2 has neither an amount nor a balance")]
    [InlineData(Heading + "2026-11-02,Pay\u202Erun,60.00,60.00\n", "words-unprintable", "description",
        "Row 2: `description` has a character that does not print")]
    [InlineData("date,description,amount,balance,holding\n2026-11-02,Pay,60.00,60.00,purse\n", "holding-unreadable",
        "holding", "Row 2 has 'purse' under holding")]
    public async Task What_can_not_be_read_is_named_with_its_row(string sheet, string code, string field, string says)
    {
        var household = await shared.HarbourRowAsync();

        var mend = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet))).MustBlame(422, code, field);

        Assert.StartsWith(says, mend, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_file_that_is_not_UTF_8_is_not_guessed_at()
    {
        var household = await shared.HarbourRowAsync();
        var latin = Encoding.Latin1.GetBytes(
            Heading + "2026-11-02,Pay,60.00,60.00\n2026-11-03,Caf\u00E9,-8.40,51.60\n");

        var mend = (await household.WithoutWritingAsync(keeper => keeper.ImportAsync(latin)))
            .MustBlame(422, "not-utf-8", "csv");
        (await household.WithoutWritingAsync(keeper => keeper.ImportAsync(Encoding.Unicode.GetBytes(Heading))))
            .MustBlame(422, "not-utf-8", "csv");
        var refused = await household.WithoutWritingAsync(
            keeper => keeper.SendContentAsync("POST", "/api/imports?compartment=ferry-fares",
                new StringContent(Heading, Encoding.Latin1, "text/csv")));

        Assert.Contains("line 3", mend, StringComparison.Ordinal);
        refused.MustBlame(400, "malformed", "Content-Type");
        (await household.WithoutWritingAsync(
            keeper => keeper.SendContentAsync("POST", "/api/imports",
                new StringContent(Heading, Encoding.UTF8, "text/plain")))).MustBeProblem(415, "media-type-unknown");
    }

    [Fact]
    public async Task Quoted_cells_may_hold_commas_quotes_and_what_a_spreadsheet_would_run()
    {
        var household = await shared.HarbourRowAsync();

        (await household.ImportAsync(Heading + "2026-11-02,\"The \"\"early\"\" boat, paid "
            + "back\",60.00,60.00\n2026-11-03,'=1+1,-8.40,51.60\n2026-11-04,'quoted',-1.00,50.60\n")).MustBe(201);

        Assert.Equal(["The \"early\" boat, paid back", "=1+1", "'quoted'"],
            (await household.LinesAsync("after=10")).Select(l => l.GetProperty("description").GetString()));
    }

    private static JsonElement Row(JsonElement answer, int number) =>
        answer.GetProperty("rows").EnumerateArray().Single(r => r.GetProperty("row").GetInt32() == number);

    private static string? Text(JsonElement element, string name) =>
        element.TryGetProperty(name, out var value) ? value.GetString() : null;

    private static IEnumerable<string> Read(JsonElement answer) =>
        answer.GetProperty("read").EnumerateArray().Select(n => n.GetString()!);
}
