using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Plans;

/// <summary>The household's today is Sunday 15 November 2026, the last day of 2026-W46.</summary>
public sealed class WeekTests(SharedServer shared)
{
    private const string Nothing =
        """ "carriedIn": 0.00, "filled": 0.00, "spent": 0.00, "movedIn": 0.00, "movedOut": 0.00, "overShort": 0.00, "corrected": 0.00, "left": 0.00 """;

    [Fact]
    public async Task A_week_shows_each_spending_compartment_against_its_plan_and_the_pace_while_it_runs()
    {
        var household = await FerryAsync();

        var week = (await household.Keeper.GetAsync("/api/weeks/2026-W46")).MustBe(200);

        week.MustSay($$"""
            {"week": "2026-W46", "firstDay": "2026-11-09", "lastDay": "2026-11-15",
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "planned": 25.00, "carriedIn": 51.60, "filled": 0.00, "spent": 20.00, "movedIn": 0.00, "movedOut": 4.00, "overShort": 0.00, "corrected": 0.00,
                "left": 27.60, "variance": 5.00, "cumulativeVariance": 21.60, "planSpent": 0.8, "moneyEnds": "2026-11-25"},
               {"compartment": "market-days", "label": "Market days", "carriedIn": 0.00, "filled": 0.00, "spent": 0.00, "movedIn": 4.00, "movedOut": 0.00, "overShort": 0.00, "corrected": 0.00, "left": 4.00},
               {"compartment": "bakery-van", "label": "Bakery van", {{Nothing}} }],
             "totals": {"planned": 25.00, "carriedIn": 51.60, "filled": 0.00, "spent": 20.00, "movedIn": 4.00, "movedOut": 4.00, "overShort": 0.00, "corrected": 0.00,
                "left": 31.60, "variance": 5.00, "cumulativeVariance": 21.60, "planSpent": 0.8, "moneyEnds": "2026-11-27"},
             "pace": {"daysGone": 7, "days": 7, "shareGone": 1},
             "bookLine": 15}
            """);
        Assert.Equal(15, week.BookLine);
        Assert.Equal(week.Text, (await household.Keeper.GetAsync("/api/weeks/2026-11-09")).MustBe(200).Text);
    }

    [Theory]
    [InlineData("2026-W44", null, "0.00", "60.00", "0.00", null)]
    [InlineData("2026-W45", "25.00", "60.00", "51.60", "8.40", "16.60")]
    [InlineData("2026-W47", "25.00", "27.60", "27.60", "0.00", "46.60")]
    [InlineData("2027-W01", "25.00", "27.60", "27.60", "0.00", "25.00")]
    public async Task A_week_that_does_not_run_has_no_pace(string name, string? planned, string carriedIn, string left,
        string spent, string? cumulative)
    {
        var household = await FerryAsync();

        var week = (await household.Keeper.GetAsync($"/api/weeks/{name}")).MustBe(200).Json;

        var ferry = week.GetProperty("compartments")[0];
        Assert.Equal((planned, carriedIn, left, spent, cumulative),
            (Amount(ferry, "planned"), Amount(ferry, "carriedIn"), Amount(ferry, "left"), Amount(ferry, "spent"),
                Amount(ferry, "cumulativeVariance")));
        Assert.False(week.TryGetProperty("pace", out _) || ferry.TryGetProperty("planSpent", out _)
            || ferry.TryGetProperty("moneyEnds", out _));
    }

    [Fact]
    public async Task A_reversed_spend_is_not_spent_and_one_of_a_closed_month_is_corrected_in_the_present_week()
    {
        var household = await FerryAsync();
        var twice = (await household.SpendAsync("ferry-fares", "8.00", on: "2026-11-11")).Lines[0];
        await household.FillAsync("ferry-fares", "10.00", on: "2026-10-20");
        var closed = (await household.SpendAsync("ferry-fares", "6.00", on: "2026-10-21")).Lines[0];
        (await household.Keeper.PostAsync("/api/months/2026-10/close",
            """{"reason": "Counted by the partner, not written down"}""")).MustBe(201);

        (await household.Keeper.PostAsync($"/api/lines/{twice}/reversal", """{"reason": "Written twice"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync($"/api/lines/{closed}/reversal", """{"reason": "Never happened"}"""))
            .MustBe(201);

        var ferry = (await household.Keeper.GetAsync("/api/weeks/2026-W46")).MustBe(200).Json
            .GetProperty("compartments")[0];
        Assert.Equal(
            ("55.60", "20.00", "6.00", "37.60", "5.00", "21.60"),
            (Amount(ferry, "carriedIn"), Amount(ferry, "spent"), Amount(ferry, "corrected"), Amount(ferry, "left"),
                Amount(ferry, "variance"), Amount(ferry, "cumulativeVariance")));
        var past = (await household.Keeper.GetAsync("/api/weeks/2026-W43")).MustBe(200).Json
            .GetProperty("compartments")[0];
        Assert.Equal(("6.00", "0.00", "4.00"),
            (Amount(past, "spent"), Amount(past, "corrected"), Amount(past, "left")));
    }

    [Fact]
    public async Task Half_way_through_the_days_gone_and_the_plan_spent_are_shares()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await FerryAsync(await Household.OpenAsync(server));
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "saturday"}""")).MustBe(200);
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 16, 12, 0, 0, TimeSpan.Zero));
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-11-14", "amounts": {"ferry-fares": 21.00}}"""))
            .MustBe(200);
        await household.SpendAsync("ferry-fares", "14.00", on: "2026-11-16");

        var week = (await household.Keeper.GetAsync("/api/weeks/2026-11-14")).MustBe(200).Json;

        Assert.Equal("""{"daysGone":3,"days":7,"shareGone":0.4286}""", week.GetProperty("pace").GetRawText());
        var ferry = week.GetProperty("compartments")[0];
        Assert.Equal(("13.60", "0.6667", "2026-11-19"),
            (Amount(ferry, "left"), Amount(ferry, "planSpent"), ferry.GetProperty("moneyEnds").GetString()));
    }

    [Fact]
    public async Task Weeks_follow_one_another_from_the_first_to_the_last_asked_for()
    {
        var household = await FerryAsync();

        Assert.Equal(["2026-W39", "2026-W40", "2026-W41", "2026-W42", "2026-W43", "2026-W44", "2026-W45", "2026-W46"],
            await NamesAsync(household, ""));
        Assert.Equal(["2026-W44", "2026-W45"], await NamesAsync(household, "?from=2026-W44&to=2026-W45"));
        Assert.Equal(["2026-W44", "2026-W45"], await NamesAsync(household, "?from=2026-11-01&to=2026-11-02"));
        Assert.Equal(["2026-W45", "2026-W46"], await NamesAsync(household, "?from=2026-11-05"));
        Assert.Equal(["2026-W48"], await NamesAsync(household, "?from=2026-W48"));
        Assert.Equal(["2026-W53", "2027-W01"], (await NamesAsync(household, "?to=2027-W01"))[^2..]);
        Assert.Equal(110, (await NamesAsync(household, "?from=2024-10-07&to=2026-W46")).Length);

        var weeks = (await household.Keeper.GetAsync("/api/weeks?from=2026-W44&to=2026-W46")).MustBe(200).Json;
        Assert.Equal(15, weeks.GetProperty("bookLine").GetInt64());
        foreach (var week in weeks.GetProperty("weeks").EnumerateArray())
        {
            var alone = (await household.Keeper.GetAsync($"/api/weeks/{week.GetProperty("week").GetString()}"))
                .MustBe(200).Text;
            Assert.Equal(alone, week.GetRawText()[..^1] + ",\"bookLine\":15}");
        }
    }

    [Fact]
    public async Task A_month_is_cut_at_its_borders_and_its_slices_and_its_neighbours_add_up_to_whole_weeks()
    {
        var household = await FerryAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00}}"""))
            .MustBe(200);

        var november = (await household.Keeper.GetAsync("/api/months/2026-11/weeks")).MustBe(200).Json;
        var october = (await household.Keeper.GetAsync("/api/months/2026-10/weeks")).MustBe(200).Json;

        Assert.Equal("2026-11", november.GetProperty("month").GetString());
        Assert.Equal(
            ["2026-W44 2026-11-01 2026-11-01", "2026-W45 2026-11-02 2026-11-08", "2026-W46 2026-11-09 2026-11-15",
                "2026-W47 2026-11-16 2026-11-22", "2026-W48 2026-11-23 2026-11-29", "2026-W49 2026-11-30 2026-11-30"],
            november.GetProperty("weeks").EnumerateArray()
                .Select(w =>
                    $"{w.GetProperty("week").GetString()} {w.GetProperty("firstDay").GetString()} "
                        + $"{w.GetProperty("lastDay").GetString()}"));
        var first = november.GetProperty("weeks")[0].GetProperty("compartments")[0];
        var lastOfOctober = october.GetProperty("weeks").EnumerateArray().Last().GetProperty("compartments")[0];
        // A seventh of 25.00 is 3.571..., six sevenths are 21.428...
        Assert.Equal(("3.57", "21.43"), (Amount(first, "planned"), Amount(lastOfOctober, "planned")));
        Assert.Equal(("0.00", "60.00", "60.00"),
            (Amount(first, "carriedIn"), Amount(first, "filled"), Amount(first, "left")));
        Assert.Equal("25.00", Amount(
            (await household.Keeper.GetAsync("/api/weeks/2026-W44")).MustBe(200).Json.GetProperty("compartments")[0],
            "cumulativeVariance"));
        Assert.Equal("25.00", Amount(first, "cumulativeVariance"));

        var month = november.GetProperty("compartments")[0];
        Assert.Equal(
            ("107.14", "0.00", "60.00", "28.40", "4.00", "27.60", "78.74"),
            (Amount(month, "planned"), Amount(month, "carriedIn"), Amount(month, "filled"), Amount(month, "spent"),
                Amount(month, "movedOut"), Amount(month, "left"), Amount(month, "variance")));
        Assert.Equal(("107.14", "28.40", "31.60"),
            (Amount(november.GetProperty("totals"), "planned"), Amount(november.GetProperty("totals"), "spent"),
                Amount(november.GetProperty("totals"), "left")));
        Assert.Equal("""{"daysGone":7,"days":7,"shareGone":1}""",
            november.GetProperty("weeks")[2].GetProperty("pace").GetRawText());
    }

    [Fact]
    public async Task A_week_comes_as_CSV_with_a_row_for_each_compartment()
    {
        var household = await FerryAsync();

        var sheet = (await household.Keeper.GetAsync("/api/weeks?from=2026-W45", ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal("text/csv; header=present; charset=utf-8", sheet.Headers["Content-Type"]);
        Assert.Equal(15, sheet.BookLine);
        const string heading =
            "week,firstDay,lastDay,compartment,planned,carriedIn,filled,spent,movedIn,movedOut,overShort,corrected,left,variance,cumulativeVariance\r\n";
        const string week46 =
            "2026-W46,2026-11-09,2026-11-15,ferry-fares,25.00,51.60,0.00,20.00,0.00,4.00,0.00,0.00,27.60,5.00,21.60\r\n"
            + "2026-W46,2026-11-09,2026-11-15,market-days,,0.00,0.00,0.00,4.00,0.00,0.00,0.00,4.00,,\r\n"
            + "2026-W46,2026-11-09,2026-11-15,bakery-van,,0.00,0.00,0.00,0.00,0.00,0.00,0.00,0.00,,\r\n";
        Assert.Equal(
            heading
            + "2026-W45,2026-11-02,2026-11-08,ferry-fares,25.00,60.00,0.00,8.40,0.00,0.00,0.00,0.00,51.60,16.60,16.60\r\n"
            + "2026-W45,2026-11-02,2026-11-08,market-days,,0.00,0.00,0.00,0.00,0.00,0.00,0.00,0.00,,\r\n"
            + "2026-W45,2026-11-02,2026-11-08,bakery-van,,0.00,0.00,0.00,0.00,0.00,0.00,0.00,0.00,,\r\n"
            + week46,
            sheet.Text);
        Assert.Equal(heading + week46,
            (await household.Keeper.GetAsync("/api/weeks/2026-W46", ("Accept", "text/csv"))).MustBe(200).Text);
        Assert.Contains("2026-W44,2026-11-01,2026-11-01,ferry-fares,,0.00,60.00",
            (await household.Keeper.GetAsync("/api/months/2026-11/weeks", ("Accept", "text/csv"))).MustBe(200).Text);
    }

    [Fact]
    public async Task A_household_that_has_named_no_currency_has_weeks_of_nothing()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var week = (await household.Keeper.GetAsync("/api/weeks/2026-W46")).MustBe(200).Json;

        Assert.Empty(week.GetProperty("compartments").EnumerateArray());
    }

    [Theory]
    [InlineData("/api/weeks/2026-W46")]
    [InlineData("/api/months/2026-11/weeks")]
    public async Task A_week_takes_no_parameters(string address)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"{address}?compartment=ferry-fares"))
            .MustBlame(400, "malformed", "compartment");
    }

    [Theory]
    [InlineData(400, "malformed", "week", "/api/weeks/W46")]
    [InlineData(400, "malformed", "week", "/api/weeks/2026-W6")]
    [InlineData(400, "malformed", "week", "/api/weeks/2026-11-31")]
    [InlineData(422, "week-unknown", "week", "/api/weeks/2025-W53")]
    [InlineData(422, "week-unknown", "week", "/api/weeks/9999-12-27")]
    [InlineData(422, "week-starts-elsewhere", "week", "/api/weeks/2026-11-15")]
    [InlineData(400, "malformed", "from", "/api/weeks?from=October")]
    [InlineData(400, "malformed", "to", "/api/weeks?to=2026-13-01")]
    [InlineData(400, "malformed", "from", "/api/weeks?from=2026-W47&to=2026-W46")]
    [InlineData(400, "malformed", "from", "/api/weeks?from=2024-W40&to=2026-W46")]
    [InlineData(400, "malformed", "from", "/api/weeks?from=1900-01-01")]
    [InlineData(422, "week-unknown", "to", "/api/weeks?to=0001-01-01")]
    [InlineData(422, "week-unknown", "from", "/api/weeks?from=2026-W54")]
    [InlineData(400, "malformed", "form", "/api/weeks?form=2026-W40")]
    [InlineData(400, "malformed", "month", "/api/months/2026-13/weeks")]
    [InlineData(400, "malformed", "month", "/api/months/2026-W46/weeks")]
    [InlineData(422, "week-unknown", "month", "/api/months/0001-01/weeks")]
    [InlineData(422, "week-unknown", "month", "/api/months/9999-12/weeks")]
    public async Task A_question_that_can_not_be_answered_is_refused_with_the_mend(int status, string code,
        string parameter, string address)
    {
        var household = await shared.HarbourRowAsync();

        Assert.NotEmpty((await household.Keeper.GetAsync(address)).MustBlame(status, code, parameter));
    }

    [Theory]
    [InlineData("/api/weeks?from=1900-01-01&to=1900-01-02")]
    [InlineData("/api/weeks?from=9998-12-31&to=9998-12-31")]
    [InlineData("/api/months/1900-01/weeks")]
    [InlineData("/api/months/9998-12/weeks")]
    public async Task The_first_and_the_last_weeks_told_are_there_whatever_day_they_start_on(string address)
    {
        var household = await shared.HarbourRowAsync();

        foreach (var startsOn in Enum.GetNames<DayOfWeek>())
        {
            (await household.Keeper.PutAsync("/api/household",
                JsonSerializer.Serialize(
                    new
                    {
                        name = "Harbour Row",
                        currency = "EUR",
                        timeZone = "Europe/Dublin",
                        firstDayOfWeek = startsOn.ToLowerInvariant()
                    }))).MustBe(200);
            (await household.Keeper.GetAsync(address)).MustBe(200);
        }
    }

    [Fact]
    public async Task Where_weeks_start_on_Sunday_an_ISO_week_is_answered_with_the_two_that_are_near()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "sunday"}"""))
            .MustBe(200);

        var refused = await household.Keeper.GetAsync("/api/weeks/2026-W47");

        Assert.Contains("start on Sunday", refused.MustBlame(422, "week-starts-elsewhere", "week"));
        Assert.Equal("""["2026-11-15","2026-11-22"]""", refused.Json.GetProperty("suggestions").GetRawText());
        Assert.Equal("2026-11-15",
            (await household.Keeper.GetAsync("/api/weeks/2026-11-15")).MustBe(200).Json.GetProperty("week")
                .GetString());
    }

    // 25.00 a week for the ferry from 2026-W45 on: 60.00 filled on the 1st, 8.40 and 20.00 spent and 4.00 moved to
    // another compartment.
    private async Task<Household> FerryAsync(Household? household = null)
    {
        household ??= await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W45", "amounts": {"ferry-fares": 25.00}}"""))
            .MustBe(200);
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-03");
        (await household.Keeper.PostAsync("/api/batches", """
            {"movements": [
              {"kind": "transfer", "from": "ferry-fares", "to": "market-days", "amount": 4.00, "occurredOn": "2026-11-09"},
              {"kind": "spend", "compartment": "ferry-fares", "amount": 20.00, "occurredOn": "2026-11-10"}]}
            """)).MustBe(200);
        return household;
    }

    private static async Task<string[]> NamesAsync(Household household, string query) =>
        [.. (await household.Keeper.GetAsync("/api/weeks" + query)).MustBe(200).Json.GetProperty("weeks")
            .EnumerateArray().Select(w => w.GetProperty("week").GetString()!)];

    private static string? Amount(JsonElement of, string field) =>
        of.TryGetProperty(field, out var amount) ? amount.GetRawText() : null;
}
