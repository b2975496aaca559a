using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class PaydayTests(SharedServer shared)
{
    private static string Source(string rule, string first, string amount = "2400.00",
        string notBankDay = "previous") =>
        $$"""{"label": "Harbour office", "rule": "{{rule}}", "first": "{{first}}", "notBankDay": "{{notBankDay}}", "amount": {{amount}}}""";

    private static string Payment(string kind, string rule, string first, string amount) =>
        $$"""{"kind": "{{kind}}", "label": "{{kind}}", "rule": "{{rule}}", "first": "{{first}}", "notBankDay": "next", "amount": {{amount}}}""";

    private async Task<Household> PaidAsync(string country = "\"IE\"")
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/household",
            $$"""{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "country": {{country}}}"""))
            .MustBe(200);
        (await household.Keeper.PutAsync("/api/income-sources/harbour-office",
            Source("FREQ=MONTHLY;BYMONTHDAY=25", "2026-09-25"))).MustBe(200);
        return household;
    }

    [Fact]
    public async Task Paydays_are_told_with_their_bank_days_and_why_they_moved()
    {
        var household = await PaidAsync();

        var paydays = (await household.Keeper.GetAsync("/api/paydays?from=2026-10-01&to=2027-01-31")).MustBe(200);

        paydays.MustSay("""
            {"from": "2026-10-01", "to": "2027-01-31", "country": "IE",
             "paydays": [
               {"day": "2026-10-23", "nominal": "2026-10-25", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00, "closedDays": [{"day": "2026-10-25", "because": "Sunday"}, {"day": "2026-10-24", "because": "Saturday"}]},
               {"day": "2026-11-25", "nominal": "2026-11-25", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00},
               {"day": "2026-12-24", "nominal": "2026-12-25", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00, "closedDays": [{"day": "2026-12-25", "because": "Christmas"}]},
               {"day": "2027-01-25", "nominal": "2027-01-25", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00}],
             "bookLine": 12}
            """);
        Assert.Equal(12, paydays.BookLine);
    }

    [Fact]
    public async Task They_come_as_a_sheet_too()
    {
        var household = await PaidAsync();
        (await household.Keeper.PutAsync("/api/income-sources/net-mending",
            Source("FREQ=MONTHLY", "2026-10-30", "null"))).MustBe(200);

        var csv = (await household.Keeper.GetAsync("/api/paydays?from=2026-10-01&to=2026-10-31",
            ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal(
            "day,nominal,source,label,amount,closedDays\r\n2026-10-23,2026-10-25,harbour-office,Harbour "
                + "office,2400.00,2026-10-25 Sunday; 2026-10-24 Saturday\r\n2026-10-30,2026-10-30,net-mending,Harbour "
                + "office,,\r\n",
            csv.Text);
    }

    [Fact]
    public async Task Without_a_country_only_weekends_are_no_bank_days()
    {
        var household = await PaidAsync("null");

        var paydays = (await household.Keeper.GetAsync("/api/paydays?from=2026-12-01&to=2026-12-31")).MustBe(200).Json;

        Assert.Equal("2026-12-25", paydays.GetProperty("paydays")[0].GetProperty("day").GetString());
        Assert.False(paydays.TryGetProperty("country", out _));
    }

    [Fact]
    public async Task Present_and_next_quarter_are_those_of_the_households_calendar()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        // Noon of 31 December in Greenwich is the morning of 1 January in Auckland.
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 12, 31, 12, 0, 0, TimeSpan.Zero));

        Assert.Equal(("2026-10-01", "2027-03-31"),
            Stretch((await household.Keeper.GetAsync("/api/paydays")).MustBe(200).Json));
        Assert.Equal(("2026-02-10", "2026-06-30"),
            Stretch((await household.Keeper.GetAsync("/api/paydays?from=2026-02-10")).MustBe(200).Json));
        Assert.Equal(("2026-10-01", "2026-12-05"),
            Stretch((await household.Keeper.GetAsync("/api/paydays?to=2026-12-05")).MustBe(200).Json));
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Pacific/Auckland", "country": "NZ"}"""))
            .MustBe(200);
        Assert.Equal(("2027-01-01", "2027-06-30"),
            Stretch((await household.Keeper.GetAsync("/api/paydays")).MustBe(200).Json));
    }

    private static (string?, string?) Stretch(JsonElement paydays) =>
        (paydays.GetProperty("from").GetString(), paydays.GetProperty("to").GetString());

    [Theory]
    [InlineData("from=2026-10", 400, "malformed", "from")]
    [InlineData("from=2026-10-01&to=2026-09-30", 422, "to-before-from", "to")]
    [InlineData("from=2026-10-01&to=2036-10-01", 422, "stretch-too-long", "to")]
    [InlineData("from=2009-12-31", 422, "bank-days-unknown", "from")]
    [InlineData("from=9999-12-31", 422, "bank-days-unknown", "from")]
    [InlineData("from=2070-10-01", 422, "bank-days-unknown", "to")]
    [InlineData("form=2026-10-01", 400, "malformed", "form")]
    public async Task A_stretch_that_cant_be_told_is_refused(string query, int status, string code, string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/paydays?{query}")).MustBlame(status, code, field);
    }

    [Fact]
    public async Task Ten_years_of_paydays_are_a_hundred_and_twenty()
    {
        var household = await PaidAsync();

        Assert.Equal(120, (await household.Keeper.GetAsync("/api/paydays?from=2026-10-01&to=2036-09-30"))
            .MustBe(200).Json.GetProperty("paydays").GetArrayLength());
    }

    [Fact]
    public async Task A_statement_says_where_the_pay_goes_until_the_next_payday()
    {
        var household = await PaidAsync();
        (await household.Keeper.PutAsync("/api/plan",
            """{"from": "2026-W43", "amounts": {"ferry-fares": 25.00, "market-days": 0.00}}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent",
            Payment("fixedBill", "FREQ=MONTHLY;BYMONTHDAY=26", "2026-09-26", "640.00"))).MustBe(200);
        (await household.Keeper.PutAsync("/api/standing-payments/nest-egg",
            Payment("automaticSaving", "FREQ=MONTHLY;BYMONTHDAY=1", "2026-09-01", "150.00"))).MustBe(200);

        var statement = (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement")).MustBe(200);

        // Monday the 26th is a bank holiday, so the rent goes out on the 27th. From 23 October to 24 November are three
        // days of W43, four weeks, and two days of W48:
        // 25.00 − 25.00 × 4/7 = 10.71, 100.00, 25.00 × 2/7 = 7.14.
        statement.MustHave("""
            {"day": "2026-10-23", "until": "2026-11-24", "nextPayday": "2026-11-25",
             "paydays": [{"day": "2026-10-23", "nominal": "2026-10-25", "source": "harbour-office", "label": "Harbour office", "amount": 2400.00, "closedDays": [{"day": "2026-10-25", "because": "Sunday"}, {"day": "2026-10-24", "because": "Saturday"}]}],
             "fixedBills": [{"day": "2026-10-27", "nominal": "2026-10-26", "payment": "quay-rent", "label": "fixedBill", "amount": 640.00, "closedDays": [{"day": "2026-10-26", "because": "October Holiday"}]}],
             "automaticSavings": [{"day": "2026-11-02", "nominal": "2026-11-01", "payment": "nest-egg", "label": "automaticSaving", "amount": 150.00, "closedDays": [{"day": "2026-11-01", "because": "Sunday"}]}],
             "fills": [{"compartment": "ferry-fares", "label": "Ferry fares", "amount": 117.85}],
             "sums": {"pay": 2400.00, "fixedBills": 640.00, "automaticSavings": 150.00, "fills": 117.85, "staysInBank": 1492.15},
             "bookLine": 15}
            """);
        Assert.Equal(15, statement.BookLine);
        (await household.WithoutWritingAsync(keeper => keeper.GetAsync("/api/paydays/2026-10-23/statement")))
            .MustBe(200);
    }

    [Fact]
    public async Task Pay_that_does_not_reach_says_by_how_much()
    {
        var household = await PaidAsync();
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent",
            Payment("fixedBill", "FREQ=WEEKLY", "2026-10-26", "640.00"))).MustBe(200);

        var statement = (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement")).MustBe(200).Json;

        Assert.Equal(("-800.00", "800.00"),
            (statement.GetProperty("sums").GetProperty("staysInBank").GetRawText(),
                statement.GetProperty("short").GetRawText()));
        Assert.Contains("800.00 EUR more than the pay", statement.GetProperty("note").GetString());
    }

    [Fact]
    public async Task Pay_that_comes_as_it_comes_is_counted_when_it_is_sent()
    {
        var household = await PaidAsync();
        (await household.Keeper.PutAsync("/api/income-sources/net-mending",
            Source("FREQ=WEEKLY;INTERVAL=2;BYDAY=FR", "2026-10-23", "null"))).MustBe(200);

        var unknown = (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement")).MustBe(200).Json;
        var known = (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement?pay=2512.40")).MustBe(200).Json;

        Assert.Equal(("2026-11-06", "2400.00", """["net-mending"]"""),
            (unknown.GetProperty("nextPayday").GetString(), unknown.GetProperty("sums").GetProperty("pay").GetRawText(),
                unknown.GetProperty("notCounted").GetRawText()));
        Assert.Contains("send `pay`", unknown.GetProperty("note").GetString());
        Assert.Equal("2512.40", known.GetProperty("sums").GetProperty("pay").GetRawText());
        Assert.False(known.TryGetProperty("notCounted", out _) || known.TryGetProperty("note", out _));
    }

    [Fact]
    public async Task A_day_without_pay_is_not_found_and_names_the_next_payday()
    {
        var household = await PaidAsync();

        var problem = (await household.Keeper.GetAsync("/api/paydays/2026-10-25/statement"))
            .MustBeProblem(404, "payday-unknown");
        Assert.Equal("""["2026-11-25"]""", problem.GetProperty("suggestions").GetRawText());

        (await household.Keeper.PutAsync("/api/income-sources/harbour-office",
            Source("FREQ=MONTHLY;COUNT=2", "2026-09-25"))).MustBe(200);
        (await household.Keeper.GetAsync("/api/paydays/2026-09-25/statement")).MustBe(200);
        (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement")).MustBeProblem(409, "payday-last");
        (await household.Keeper.GetAsync("/api/paydays/2026-10-24/statement")).MustBeProblem(404, "payday-unknown");
    }

    [Theory]
    [InlineData("2026-10-32/statement", 400, "malformed", "day")]
    [InlineData("1999-10-01/statement", 422, "bank-days-unknown", "day")]
    [InlineData("2026-10-23/statement?pay=much", 400, "malformed", "pay")]
    [InlineData("2026-10-23/statement?pay=1e3", 400, "malformed", "pay")]
    [InlineData("2026-10-23/statement?pay=-5", 422, "amount-not-positive", "pay")]
    [InlineData("2026-10-23/statement?pay=1.001", 422, "too-many-decimals", "pay")]
    public async Task A_statement_that_cant_be_made_is_refused(string address, int status, string code, string field)
    {
        var household = await PaidAsync();

        (await household.Keeper.GetAsync($"/api/paydays/{address}")).MustBlame(status, code, field);
    }

    [Theory]
    [InlineData("XX", 422)]
    [InlineData("Ireland", 422)]
    public async Task A_country_without_known_bank_holidays_is_refused(string country, int status)
    {
        var household = await shared.HarbourRowAsync();

        var mend = (await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/household",
                $$"""{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "country": "{{country}}"}"""))).MustBlame(status, "country-unknown", "country");

        Assert.Contains("IE, ", mend);
    }

    [Fact]
    public async Task Paydays_come_from_the_lines_alone_and_a_rebuild_finds_nothing_else()
    {
        var household = await PaidAsync();
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent",
            Payment("fixedBill", "FREQ=MONTHLY;BYMONTHDAY=26", "2026-09-26", "640.00"))).MustBe(200);
        var before = (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement")).MustBe(200).Text;

        var rebuilt = await household.Server.Services.GetRequiredService<Rebuilder>().RebuildAsync(household.Id);

        Assert.Empty(rebuilt.Drifts);
        Assert.Equal(before, (await household.Keeper.GetAsync("/api/paydays/2026-10-23/statement")).MustBe(200).Text);
    }
}
