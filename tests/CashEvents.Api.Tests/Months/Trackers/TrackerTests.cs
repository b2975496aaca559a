using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class TrackerTests(SharedServer shared)
{
    [Fact]
    public async Task A_sheet_runs_from_the_months_opening_to_its_closing_balance()
    {
        var household = await FerryAsync();

        (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker?month=2026-11")).MustBe(200).MustSay("""
            {"compartment": "ferry-fares", "label": "Ferry fares", "month": "2026-11", "openingBalance": 41.60,
             "rows": [
               {"line": 14, "date": "2026-11-01", "kind": "fill", "holding": "cash", "description": "", "amount": 60.00, "balance": 101.60},
               {"line": 16, "date": "2026-11-02", "kind": "spend", "holding": "cash", "description": "Written late", "amount": -1.00, "balance": 100.60},
               {"line": 15, "date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return, two seats", "amount": -8.40, "balance": 92.20},
               {"line": 17, "date": "2026-11-03", "kind": "transfer", "holding": "cash", "description": "", "amount": -20.00, "balance": 72.20},
               {"line": 17, "date": "2026-11-03", "kind": "transfer", "holding": "bank", "description": "", "amount": 20.00, "balance": 92.20}],
             "closingBalance": 92.20, "bookLine": 17}
            """);
    }

    [Theory]
    [InlineData("2026-09", 0, "0.00", "0.00")]
    [InlineData("2026-10", 3, "0.00", "41.60")]
    [InlineData("2026-11", 5, "41.60", "92.20")]
    [InlineData("2026-12", 0, "92.20", "92.20")]
    [InlineData("0001-01", 0, "0.00", "0.00")]
    [InlineData("9999-12", 0, "92.20", "92.20")]
    public async Task A_month_holds_its_first_and_its_last_day_and_no_other(string month, int rows, string opening,
        string closing)
    {
        var household = await FerryAsync();

        var sheet = (await household.Keeper.GetAsync($"/api/compartments/ferry-fares/tracker?month={month}"))
            .MustBe(200).Json;

        Assert.Equal((rows, opening, closing),
            (sheet.GetProperty("rows").GetArrayLength(), sheet.GetProperty("openingBalance").GetRawText(),
                sheet.GetProperty("closingBalance").GetRawText()));
    }

    [Theory]
    [InlineData("cash", 4, "41.60", "72.20")]
    [InlineData("bank", 1, "0.00", "20.00")]
    public async Task A_sheet_may_be_for_one_holding_alone(string holding, int rows, string opening, string closing)
    {
        var household = await FerryAsync();

        var sheet = (await household.Keeper.GetAsync(
            $"/api/compartments/ferry-fares/tracker?month=2026-11&holding={holding}")).MustBe(200).Json;

        Assert.Equal(holding, sheet.GetProperty("holding").GetString());
        Assert.Equal((rows, opening, closing),
            (sheet.GetProperty("rows").GetArrayLength(), sheet.GetProperty("openingBalance").GetRawText(),
                sheet.GetProperty("closingBalance").GetRawText()));
        Assert.Equal(closing, await household.HoldsAsync("ferry-fares", holding));
    }

    [Fact]
    public async Task The_present_month_is_the_one_on_the_households_calendar()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Pacific/Auckland"}""")).MustBe(200);
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 30, 12, 0, 0, TimeSpan.Zero));

        var sheet = (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker")).MustBe(200).Json;

        Assert.Equal("2026-12", sheet.GetProperty("month").GetString());
    }

    [Fact]
    public async Task As_CSV_it_follows_RFC_4180()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        foreach (var description in new[] { "Return, two seats", "The \"early\" boat", "=1+1", "+44", "-1", "@home",
            "Café 한국", "plain" })
        {
            await household.SpendAsync("ferry-fares", "1.00", description: description);
        }

        var sheet = (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker?month=2026-11",
            ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal("text/csv; header=present; charset=utf-8", sheet.Headers["Content-Type"]);
        Assert.Equal(
            "date,description,amount,balance,holding,kind,line\r\n"
            + "2026-11-01,,60.00,60.00,cash,fill,11\r\n"
            + "2026-11-03,\"Return, two seats\",-1.00,59.00,cash,spend,12\r\n"
            + "2026-11-03,\"The \"\"early\"\" boat\",-1.00,58.00,cash,spend,13\r\n"
            + "2026-11-03,'=1+1,-1.00,57.00,cash,spend,14\r\n"
            + "2026-11-03,'+44,-1.00,56.00,cash,spend,15\r\n"
            + "2026-11-03,'-1,-1.00,55.00,cash,spend,16\r\n"
            + "2026-11-03,'@home,-1.00,54.00,cash,spend,17\r\n"
            + "2026-11-03,Café 한국,-1.00,53.00,cash,spend,18\r\n"
            + "2026-11-03,plain,-1.00,52.00,cash,spend,19\r\n",
            sheet.Text);
    }

    [Theory]
    [InlineData("text/csv", "text/csv")]
    [InlineData("text/csv;q=0.9, application/json;q=0.8", "text/csv")]
    [InlineData("text/*", "text/csv")]
    [InlineData("application/json", "application/json")]
    [InlineData("application/json;q=0.9, text/csv;q=0.8", "application/json")]
    [InlineData("*/*", "application/json")]
    [InlineData("text/html", "text/html")]
    [InlineData("text/html, text/csv;q=0.9", "text/html")]
    [InlineData("text/csv, text/html;q=0.9", "text/csv")]
    [InlineData("text/html;q=0.5, application/json;q=0.4", "text/html")]
    [InlineData("text/html;q=0.4, application/json;q=0.5", "application/json")]
    [InlineData("text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,*/*;q=0.8", "text/html")]
    [InlineData("text/csv, */*", "text/csv")]
    [InlineData("application/json;q=0, */*", "text/csv")]
    [InlineData("text/html;q=0, text/*", "text/csv")]
    [InlineData("text/*;q=0.3, text/html;q=0.7, */*;q=0.5", "text/html")]
    [InlineData("no media type", "application/json")]
    public async Task The_senders_preference_chooses_the_form(string accept, string form)
    {
        var household = await shared.HarbourRowAsync();

        var answer = (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker", ("Accept", accept)))
            .MustBe(200);

        Assert.Equal((form, "Accept, Authorization, Accept-Encoding"), (answer.ContentType, answer.Headers["Vary"]));
    }

    [Theory]
    [InlineData("month", "month=2026-13")]
    [InlineData("month", "month=2026-1")]
    [InlineData("month", "month=2026-11-01")]
    [InlineData("month", "month=November")]
    [InlineData("month", "month=")]
    [InlineData("month", "month=2026-11&month=2026-10")]
    [InlineData("month", "month=%00")]
    [InlineData("holding", "holding=pocket")]
    [InlineData("holding", "holding=1")]
    [InlineData("mnth", "mnth=2026-11")]
    public async Task A_question_that_can_not_be_read_is_refused(string parameter, string query)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/compartments/ferry-fares/tracker?{query}"))
            .MustBlame(400, "malformed", parameter);
    }

    private async Task<Household> FerryAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "50.00", on: "2026-10-01");
        await household.SpendAsync("ferry-fares", "6.00", on: "2026-10-31");
        await household.SpendAsync("ferry-fares", "2.40", on: "2026-10-31");
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-03", description: "Return, two seats");
        await household.SpendAsync("ferry-fares", "1.00", on: "2026-11-02", description: "Written late");
        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "ferry-fares", "to": {"compartment": "ferry-fares", "holding": "bank"}, "amount": 20.00, "occurredOn": "2026-11-03"}""")).MustBe(201);
        return household;
    }
}
