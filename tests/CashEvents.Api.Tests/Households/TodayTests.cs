using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>What a script would otherwise have to work out: the household's own date, week and month.</summary>
public sealed class TodayTests
{
    [Theory]
    [InlineData("Europe/Dublin", "monday", "2026-12-31", "2026-W53", "2026-12-28", "2027-01-03", "2026-12")]
    [InlineData("Asia/Tokyo", "monday", "2027-01-01", "2026-W53", "2026-12-28", "2027-01-03", "2027-01")]
    [InlineData("Asia/Tokyo", "sunday", "2027-01-01", "2026-12-27", "2026-12-27", "2027-01-02", "2027-01")]
    public async Task Today_and_the_word_current_follow_the_households_calendar(string zone, string startsOn,
        string date, string week, string first, string last, string month)
    {
        // Given midnight past in Tokyo, and not yet in Dublin. (The last week of 2026 is its 53rd: ISO 8601.)
        await using var server = await RunningServer.StartAsync(at: new DateTimeOffset(2026, 12, 31, 18, 0, 0,
            TimeSpan.Zero));
        var keeper = (await Household.OpenAsync(server)).Keeper;
        (await keeper.PutAsync("/api/household",
            $$"""{"name": "Harbour Row", "currency": "EUR", "timeZone": "{{zone}}", "firstDayOfWeek": "{{startsOn}}"}"""))
            .MustBe(200);

        var before = (await keeper.GetAsync("/api/today")).MustBe(200);
        (await keeper.PutAsync("/api/income-sources/harbour-office",
            """{"label": "Harbour office", "amount": 2400.00, "rule": "FREQ=MONTHLY;BYMONTHDAY=15", "first": "2026-11-15", "notBankDay": "next"}"""))
            .MustBe(200);
        var today = (await keeper.GetAsync("/api/today")).MustBe(200);

        Assert.False(before.Json.TryGetProperty("nextPayday", out _));
        today.MustSay($$"""
            {"date": "{{date}}", "week": "{{week}}", "weekFirstDay": "{{first}}", "weekLastDay": "{{last}}", "month": "{{month}}", "timeZone": "{{zone}}",
             "bookLine": {{today.BookLine}}, "nextPayday": "2027-01-15"}
            """);
        (await keeper.GetAsync("/api/weeks/current")).MustBe(200)
            .MustSay((await keeper.GetAsync($"/api/weeks/{week}")).MustBe(200).Text);
        foreach (var sheet in new[] { "trail", "weeks" })
        {
            (await keeper.GetAsync($"/api/months/current/{sheet}")).MustBe(200)
                .MustSay((await keeper.GetAsync($"/api/months/{month}/{sheet}")).MustBe(200).Text);
        }

        (await keeper.PostAsync("/api/months/current/close", "{}")).MustBlame(400, "malformed", "month");
        (await keeper.GetAsync("/api/weeks/Current")).MustBlame(400, "malformed", "week");
        (await server.Client(null).GetAsync("/api/weeks/current")).MustBeProblem(401, "key-missing");
    }
}
