using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class MonthTests(SharedServer shared)
{
    [Fact]
    public async Task A_month_is_closed_reopened_and_closed_again()
    {
        var household = await OctoberAsync();

        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{}""")).MustBe(201).MustSay("""
            {"month": "2026-10", "closed": true, "lines": [15], "entryId": 15, "closing": [
              {"compartment": "ferry-fares", "holding": "cash", "wallet": "oilskin-wallet", "closing": 31.60}, {"compartment": "ferry-fares", "holding": "bank", "wallet": "oilskin-wallet", "closing": 0.00},
              {"compartment": "market-days", "holding": "cash", "wallet": "oilskin-wallet", "closing": 0.00}, {"compartment": "market-days", "holding": "bank", "wallet": "oilskin-wallet", "closing": 0.00},
              {"compartment": "bakery-van", "holding": "cash", "wallet": "oilskin-wallet", "closing": 0.00}, {"compartment": "bakery-van", "holding": "bank", "wallet": "oilskin-wallet", "closing": 0.00},
              {"compartment": "boat-insurance", "holding": "cash", "wallet": "desk-drawer", "closing": 0.00}, {"compartment": "boat-insurance", "holding": "bank", "wallet": "desk-drawer", "closing": 50.00},
              {"compartment": "rainy-day", "holding": "cash", "wallet": "desk-drawer", "closing": 0.00}, {"compartment": "rainy-day", "holding": "bank", "wallet": "desk-drawer", "closing": 0.00}]}
            """);

        var closed = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json
            .GetProperty("closed");
        var trail = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).Json;
        Assert.Equal((await household.Keeper.GetAsync("/api/lines/15")).Json.GetProperty("hash").GetString(),
            trail.GetProperty("hash").GetString());
        Assert.Equal((15, "keeper"), (closed.GetProperty("line").GetInt64(), closed.GetProperty("by").GetString()));
        Assert.Contains("2026-11-01",
            (await household.Keeper.PostAsync("/api/fills",
                """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2026-10-31"}"""))
                .MustBlame(409, "month-closed", "occurredOn"));
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{}""")).MustBeProblem(409, "month-closed");
        (await household.Keeper.PostAsync("/api/months/2026-10/reopen", """{}"""))
            .MustBlame(400, "malformed", "reason");
        (await household.Keeper.PostAsync("/api/months/2026-10/reopen", """{"reason": "A bill was dated wrong"}"""))
            .MustBe(201)
            .MustHave("""{"month": "2026-10", "closed": false, "lines": [16], "entryId": 16}""");
        await household.FillAsync("ferry-fares", "1.00", on: "2026-10-31");
        Assert.False((await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json
            .TryGetProperty("closed", out _));
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{"reason": "The wallet is at sea"}"""))
            .MustBe(201);
        Assert.Equal("The wallet is at sea",
            (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json.GetProperty("closed")
                .GetProperty("reason").GetString());
    }

    [Fact]
    public async Task What_is_open_is_listed_and_a_reason_closes_the_month_all_the_same()
    {
        var household = await OctoberAsync();
        await household.SpendAsync("ferry-fares", "1.60", on: "2026-10-30");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "boat-insurance", "holding": "bank", "total": 49.00, "occurredOn": "2026-10-31"}"""))
            .MustBe(201);

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/months/2026-10/close", """{}"""));

        Assert.Contains("`reason`", refused.MustBlame(409, "month-has-open-items", "reason"));
        Assert.Equal(
            """[{"kind":"notCounted","compartment":"ferry-fares","holding":"cash","on":"2026-10-30"},{"kind":"countUnsettled","compartment":"boat-insurance","holding":"bank","on":"2026-10-31","countId":16,"difference":-1.00}]""",
            refused.Json.GetProperty("open").GetRawText());
        Assert.Equal(refused.Json.GetProperty("open").GetRawText(),
            (await household.Keeper.GetAsync("/api/months/2026-10/trail")).Json.GetProperty("open").GetRawText());
        (await household.Keeper.PostAsync("/api/months/2026-10/close",
            """{"reason": "Looked for the coin everywhere"}""")).MustBe(201);
    }

    [Fact]
    public async Task What_is_open_in_a_closed_compartment_and_what_disagrees_again_stand_on_the_page_as_in_the_list()
    {
        var household = await OctoberAsync();
        await household.FillAsync("market-days", "5.00", on: "2026-09-01");
        await household.SpendAsync("market-days", "5.00", on: "2026-09-02");
        var over = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "market-days", "total": 2.00, "occurredOn": "2026-09-03"}""")).MustBe(201).Lines[0];
        (await household.Keeper.PatchAsync("/api/compartments/market-days", """{"closed": true}""")).MustBe(200);
        await household.FillAsync("bakery-van", "9.00", on: "2026-09-01");
        var again = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "bakery-van", "total": 8.00, "occurredOn": "2026-09-05"}""")).MustBe(201).Lines[0];
        (await household.Keeper.PostAsync($"/api/counts/{again}/settlement",
            """{"reason": "Looked everywhere", "occurredOn": "2026-09-05"}""")).MustBe(201);
        await household.SpendAsync("bakery-van", "1.00", on: "2026-09-02");

        var refused = (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}"))
            .MustBeProblem(409, "month-has-open-items").GetProperty("open").GetRawText();
        var page = (await household.Keeper.GetAsync("/api/months/2026-10/trail", ("Accept", "text/html")))
            .MustBe(200).Text;

        Assert.Contains(
            $$"""{"kind":"countUnsettled","compartment":"market-days","holding":"cash","on":"2026-09-03","countId":{{over}},"difference":2.00}""", refused);
        Assert.Contains(
            $$"""{"kind":"countDisagreesAgain","compartment":"bakery-van","holding":"cash","on":"2026-09-05","countId":{{again}},"difference":1.00}""", refused);
        Assert.Equal(refused, (await household.Keeper.GetAsync("/api/months/2026-10/trail")).Json.GetProperty("open")
            .GetRawText());
        Assert.Contains($"count {over} not settled", page);
        Assert.Contains($"count {again} settled, but disagrees again", page);
    }

    [Fact]
    public async Task Leftovers_are_swept_in_the_same_entry_or_nothing_is_written()
    {
        var household = await OctoberAsync();

        await household.WithoutWritingAsync(async keeper =>
        {
            var reply = await keeper.PostAsync("/api/months/2026-10/close",
                """{"sweep": {"from": ["lighthouse"], "to": "rainy-day"}}""");
            reply.MustBlame(422, "compartment-unknown", "from[0]");
            return reply;
        });
        var closed = (await household.Keeper.PostAsync("/api/months/2026-10/close",
            """{"sweep": {"from": ["ferry-fares"], "to": "rainy-day", "leave": 5.00, "description": "October leftovers"}}""")).MustBe(201);

        Assert.Equal([15, 16], closed.Lines);
        var swept = (await household.Keeper.GetAsync("/api/lines/15")).Json;
        Assert.Equal(("sweep", "2026-10-31", 15),
            (swept.GetProperty("kind").GetString(), swept.GetProperty("occurredOn").GetString(),
                swept.GetProperty("entryId").GetInt64()));
        Assert.Equal(("5.00", "26.60"),
            (await household.HoldsAsync("ferry-fares"), await household.HoldsAsync("rainy-day")));
    }

    [Fact]
    public async Task A_month_whose_payday_comes_before_its_end_is_counted_swept_of_its_leftovers_and_closed()
    {
        var household = await shared.HarbourRowAsync();
        await household.SourceAsync("harbour-office", "FREQ=MONTHLY;BYMONTHDAY=29", "2026-09-29", "150.00");
        await household.RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 60.00}""");
        await household.RuleAsync("market-days", """{"kind": "fixed", "amount": 45.00}""");
        (await household.FillPaydayAsync("2026-09-29")).MustBe(201);
        await household.SpendAsync("ferry-fares", "47.60", on: "2026-10-20");
        await household.SpendAsync("market-days", "15.00", on: "2026-10-21");
        (await household.FillPaydayAsync("2026-10-29")).MustBe(201);
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-10-30");
        // On the 31st old notes and fresh ones are counted together; one is a coin short.
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 64.00, "occurredOn": "2026-10-31"}""")).MustBe(201);
        var count = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "market-days", "total": 74.50, "occurredOn": "2026-10-31"}""")).MustBe(201).Json
            .GetProperty("countId").GetInt64();
        (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
            """{"reason": "Change", "occurredOn": "2026-10-31"}""")).MustBe(201);

        var closed = (await household.Keeper.PostAsync("/api/months/2026-10/close",
            """{"sweep": {"from": {"wallet": "oilskin-wallet"}, "to": "rainy-day", "take": "broughtForward"}}"""))
            .MustBe(201).Json;

        Assert.Equal(
            """[{"compartment":"ferry-fares","holding":"cash","taken":4.00,"left":60.00},{"compartment":"market-days","holding":"cash","taken":29.50,"left":45.00},{"compartment":"bakery-van","holding":"cash","taken":0.00,"left":0.00}]""", closed.GetProperty("swept").GetRawText());
        Assert.Equal(["ferry-fares 60.00", "market-days 45.00", "rainy-day 33.50"],
            closed.GetProperty("closing").EnumerateArray()
            .Where(c => c.GetProperty("holding").GetString() == "cash" && c.GetProperty("closing").GetDecimal() != 0m)
            .Select(c => $"{c.GetProperty("compartment").GetString()} {c.GetProperty("closing").GetRawText()}"));
        // The counts of the 31st still agree with the book, and November opens with the fresh notes.
        var trail = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json;
        Assert.DoesNotContain(trail.GetProperty("lines").EnumerateArray(),
            l => l.GetProperty("unsettled").GetBoolean());
        Assert.Equal("138.50", (await household.Keeper.GetAsync("/api/months/2026-11/trail")).MustBe(200).Json
            .GetProperty("household").GetProperty("opening").GetRawText());
        var november = (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 60.00, "occurredOn": "2026-11-01"}""")).MustBe(201).Json;
        Assert.Equal("0.00", november.GetProperty("difference").GetRawText());
    }

    [Theory]
    [InlineData("""{"sweep": {"from": ["ferry-fares"]}}""", "sweep.to")]
    [InlineData("""{"sweep": {"from": ["ferry-fares"], "to": "rainy-day", "occurredOn": "2026-10-30"}}""",
        "sweep.occurredOn")]
    [InlineData("""{"sweep": {"from": ["ferry-fares"], "to": "rainy-day", "idempotencyKey": "a"}}""",
        "sweep.idempotencyKey")]
    [InlineData("""{"reasn": "x"}""", "reasn")]
    public async Task A_closing_that_is_not_well_formed_names_the_field(string body, string field)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/months/2026-10/close", body));

        refused.MustBlame(400, "malformed", field);
    }

    [Theory]
    [InlineData("GET", "/api/months/2026-13/trail", 400)]
    [InlineData("GET", "/api/months/november/trail", 400)]
    [InlineData("GET", "/api/months/2026-10/trail?month=1", 400)]
    [InlineData("POST", "/api/months/2026-1/close", 400)]
    [InlineData("POST", "/api/months/2026-11/close", 409)]
    public async Task An_address_that_names_no_month_says_how_one_is_written(string method, string path, int status)
    {
        var household = await shared.HarbourRowAsync();

        var reply = await household.Keeper.SendAsync(method, path, method == "POST" ? "{}" : null);

        reply.MustBeProblem(status, status == 400 ? "malformed" : "month-running");
    }

    [Fact]
    public async Task Only_a_keeper_closes_and_reopens()
    {
        var household = await OctoberAsync();
        var partner = await household.IssueAsync("partner", "member");

        (await partner.PostAsync("/api/months/2026-10/close", "{}")).MustBeProblem(403, "not-allowed");
        (await partner.PostAsync("/api/months/2026-10/reopen", """{"reason": "x"}"""))
            .MustBeProblem(403, "not-allowed");
        (await partner.GetAsync("/api/months/2026-10/trail")).MustBe(200);
    }

    [Fact]
    public async Task A_repeated_closing_gets_the_first_answer()
    {
        var household = await OctoberAsync();

        var first = (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}",
            ("Idempotency-Key", "october"))).MustBe(201);
        var again = (await household.Keeper.PostAsync("/api/months/2026-10/close", "{}",
            ("Idempotency-Key", "october"))).MustBe(201);

        Assert.Equal(first.Text, again.Text);
        Assert.Equal(15, await household.LineAsync());
    }

    [Fact]
    public async Task The_trail_tells_what_there_was_who_did_what_and_that_it_adds_up()
    {
        var household = await OctoberAsync();
        var partner = await household.IssueAsync("partner", "member");
        (await partner.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 1.60, "occurredOn": "2026-10-30", "description": "Day return"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "ferry-fares", "to": "market-days", "amount": 10.00, "occurredOn": "2026-10-30"}"""))
            .MustBe(201);

        var trail = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json;

        var ferry = trail.GetProperty("places").EnumerateArray().First().GetProperty("figures");
        Assert.Equal(
            """{"opening":0.00,"filled":40.00,"spent":10.00,"refunded":0.00,"movedIn":0.00,"movedOut":10.00,"sweptIn":0.00,"sweptOut":0.00,"over":0.00,"short":0.00,"corrected":0.00,"closing":20.00}""",
            ferry.GetRawText());
        Assert.Equal(
            """[{"by":"keeper","kind":"fill","lines":2,"amount":90.00},{"by":"keeper","kind":"spend","lines":1,"amount":8.40},{"by":"keeper","kind":"count","lines":1,"amount":0.00},{"by":"keeper","kind":"transfer","lines":1,"amount":10.00},{"by":"partner","kind":"spend","lines":1,"amount":1.60}]""",
            trail.GetProperty("writers").GetRawText());
        Assert.Equal(
            """[{"from":{"compartment":"ferry-fares","holding":"cash"},"to":{"compartment":"market-days","holding":"cash"},"amount":10.00}]""",
            trail.GetProperty("moves").GetRawText());
        // Written down on 15 November.
        Assert.Equal([45, 44, 26, 18, 16, 16],
            trail.GetProperty("lines").EnumerateArray().Select(l => l.GetProperty("daysLate").GetInt32()));
        var balance = trail.GetProperty("trialBalance");
        Assert.Equal("0.00", balance.GetProperty("difference").GetRawText());
        Assert.Equal(balance.GetProperty("debit").GetRawText(), balance.GetProperty("credit").GetRawText());
    }

    [Fact]
    public async Task A_closed_month_s_figures_never_change_whatever_is_written_until_it_is_reopened()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var household = await shared.HarbourRowAsync();
        await new GeneratedHistory(household, seed).SendAsync(120);
        (await household.Keeper.PostAsync("/api/months/2026-10/close", """{"reason": "as it stands"}""")).MustBe(201);
        var closed = await OctoberFiguresAsync(household);
        var line = await household.LineAsync();

        var refusals = 0;
        for (var i = 0; i < 10; i++)
        {
            await new GeneratedHistory(household, seed + i + 1).SendAsync(15);
            var late = await household.Keeper.PostAsync("/api/fills",
                $$"""{"compartment": "market-days", "amount": 1.00, "occurredOn": "2026-10-{{i + 10}}"}""");
            refusals += late.Status == 409 ? 1 : 0;
            Assert.Equal(closed, await OctoberFiguresAsync(household));
        }

        Assert.Equal(10, refusals);
        Assert.True(await household.LineAsync() > line);
        (await household.Keeper.PostAsync("/api/months/2026-10/reopen", """{"reason": "a forgotten fill"}"""))
            .MustBe(201);
        await household.FillAsync("market-days", "1.00", on: "2026-10-10");
        Assert.NotEqual(closed, await OctoberFiguresAsync(household));
    }

    [Fact]
    public async Task The_trail_comes_as_csv_too()
    {
        var household = await OctoberAsync();

        var sheet = (await household.Keeper.GetAsync("/api/months/2026-10/trail", ("Accept", "text/csv"))).MustBe(200);

        Assert.StartsWith(
            "wallet,compartment,label,holding,opening,filled,spent,refunded,movedIn,movedOut,sweptIn,sweptOut,over,short,corrected,closing\r\noilskin-wallet,ferry-fares,Ferry fares,cash,0.00,40.00,8.40,0.00,0.00,0.00,0.00,0.00,0.00,0.00,0.00,31.60\r\n",
            sheet.Text);
    }

    [Fact]
    public async Task A_book_without_a_currency_has_a_trail_of_nothing()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var trail = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json;

        Assert.Equal(("[]", "[]"), (trail.GetProperty("places").GetRawText(), trail.GetProperty("lines").GetRawText()));
    }

    // Forty into the ferry fares, 8.40 spent, counted and agreed; fifty for the boat in the bank.
    private async Task<Household> OctoberAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "40.00", on: "2026-10-01");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-10-20");
        await household.FillAsync("boat-insurance", "50.00", on: "2026-10-02", holding: "bank");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 31.60, "occurredOn": "2026-10-28"}""")).MustBe(201);
        return household;
    }

    // All but the marks that later lines put beside the month's: a settled count, a line corrected in the open month.
    private static async Task<string> OctoberFiguresAsync(Household household)
    {
        var trail = (await household.Keeper.GetAsync("/api/months/2026-10/trail")).MustBe(200).Json;
        string[] figures = ["places", "compartments", "wallets", "household", "writers", "moves", "trialBalance"];
        return string.Concat(figures.Select(f => trail.GetProperty(f).GetRawText()))
            + string.Join(' ', trail.GetProperty("lines").EnumerateArray()
                .Select(l => l.GetProperty("line").GetProperty("line").GetInt64()));
    }
}
