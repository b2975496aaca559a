using System.Globalization;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// What was there on a day, and what the book said at a line or an instant: against lines added up by hand.
/// </summary>
public sealed class TwoTimesTests
{
    private static readonly string[] _holdings = ["cash", "bank"];

    [ThoroughFact]
    public async Task Balances_and_sheets_of_any_day_at_any_line_agree_with_the_lines_added_up()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var random = new Random(seed);
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        for (var i = 0; i < 12; i++)
        {
            await new GeneratedHistory(household, seed + i).SendAsync(20);
            server.Clock.Advance(TimeSpan.FromMinutes(random.Next(1, 90)));
        }

        var lines = await household.LinesAsync();
        for (var i = 0; i < 60; i++)
        {
            // Sometimes only one of the two times is asked for.
            var atLine = random.Next(4) == 0 ? lines.Count : random.Next(Household.SetUpLines, lines.Count + 1);
            var on = random.Next(4) == 0 ? default(DateOnly?) : new DateOnly(2026, 11, 15).AddDays(-random.Next(70));
            var query = Query(random, lines, atLine, on);

            var balances = (await household.Keeper.GetAsync("/api/balances" + query)).MustBe(200).Json;

            foreach (var held in balances.GetProperty("compartments").EnumerateArray())
            {
                var compartment = held.GetProperty("compartment").GetString()!;
                foreach (var holding in _holdings)
                {
                    Assert.Equal(AddUp(lines, compartment, holding, atLine, on),
                        held.GetProperty(holding).GetDecimal());
                }
            }

            await SheetMustAgreeAsync(household, lines, query, atLine, on);
        }
    }

    [Theory]
    [InlineData("atLine=9999", 404, "line-unknown")]
    [InlineData("at=2020-01-01T00:00:00Z", 404, "book-not-begun")]
    public async Task A_line_that_is_not_there_is_not_found(string query, int status, string code)
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);

        (await household.Keeper.GetAsync($"/api/balances?{query}")).MustBeProblem(status, code);
        (await household.Keeper.GetAsync($"/api/compartments/rainy-day/tracker?{query}")).MustBeProblem(status, code);
    }

    [Theory]
    [InlineData("on=yesterday", "on")]
    [InlineData("atLine=0", "atLine")]
    [ThoroughData("at=2026-11-15T12:00:00", "at")]
    [ThoroughData("at=2026-11-15", "at")]
    [ThoroughData("at=2026-11-15T12:00:00Z&atLine=3", "at")]
    public async Task A_time_that_is_not_well_written_is_blamed(string query, string field)
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);

        (await household.Keeper.GetAsync($"/api/balances?{query}")).MustBlame(400, "malformed", field);
        (await household.Keeper.GetAsync($"/api/compartments/ferry-fares/tracker?{query}"))
            .MustBlame(400, "malformed", field);
    }

    [Fact]
    public async Task An_instant_may_have_any_offset_and_a_compartment_is_not_there_before_it_was_opened()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        server.Clock.Advance(TimeSpan.FromHours(2));
        await household.FillAsync("ferry-fares", "5.00");

        Assert.Equal(10, (await household.Keeper.GetAsync("/api/balances?at=2026-11-15T14:59:59%2B01:00"))
            .MustBe(200).Json.GetProperty("line").GetInt64());
        Assert.Equal(11, (await household.Keeper.GetAsync("/api/balances?at=2026-11-15T15:00:00%2B01:00"))
            .MustBe(200).Json.GetProperty("line").GetInt64());
        (await household.Keeper.GetAsync("/api/compartments/rainy-day/tracker?atLine=5"))
            .MustBeProblem(404, "compartment-unknown");
        (await household.Keeper.GetAsync("/api/compartments/rainy-day/tracker?month=2026-11&on=2026-10-31"))
            .MustBlame(400, "malformed", "on");
    }

    [Fact]
    public async Task A_compartment_that_is_closed_now_shows_what_it_held_then()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("bakery-van", "5.00", on: "2026-11-01");
        await household.SpendAsync("bakery-van", "5.00", on: "2026-11-09");
        (await household.Keeper.PatchAsync("/api/compartments/bakery-van", """{"closed": true}""")).MustBe(200);

        var then = (await household.Keeper.GetAsync("/api/balances?on=2026-11-08")).MustBe(200).Json;

        Assert.Equal("5.00", then.GetProperty("household").GetProperty("cash").GetRawText());
        Assert.Contains(then.GetProperty("compartments").EnumerateArray(),
            c => c.GetProperty("compartment").GetString() == "bakery-van");
        Assert.DoesNotContain((await household.Keeper.GetAsync("/api/balances")).Json.GetProperty("compartments")
            .EnumerateArray(), c => c.GetProperty("compartment").GetString() == "bakery-van");
    }

    private static string Query(Random random, List<JsonElement> lines, int atLine, DateOnly? on)
    {
        // The clock moved between some lines and not between others: an instant names the last line recorded at it.
        var recorded = lines[atLine - 1].GetProperty("recordedAt").GetDateTimeOffset();
        var isLastThen = atLine == lines.Count
            || lines[atLine].GetProperty("recordedAt").GetDateTimeOffset() > recorded;
        var read = isLastThen && random.Next(2) == 0
            ? $"at={recorded.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'}"
            : atLine < lines.Count ? $"atLine={atLine}" : "";
        var day = on is { } d ? $"on={d:yyyy-MM-dd}" : "";
        return "?" + string.Join('&', new[] { read, day }.Where(p => p.Length > 0));
    }

    private static async Task SheetMustAgreeAsync(Household household, List<JsonElement> lines, string query,
        int atLine, DateOnly? on)
    {
        var opened = lines.Single(
            l => l.GetProperty("kind").GetString() == "compartmentOpened"
                && l.GetProperty("compartment").GetString() == "market-days").GetProperty("line").GetInt64();
        Assert.True(opened <= atLine);
        var sheet = (await household.Keeper.GetAsync($"/api/compartments/market-days/tracker{query}")).MustBe(200).Json;
        var first = DateOnly.ParseExact(sheet.GetProperty("month").GetString()! + "-01", "yyyy-MM-dd",
            CultureInfo.InvariantCulture);
        decimal Both(DateOnly? day) => _holdings.Sum(h => AddUp(lines, "market-days", h, atLine, day));
        Assert.Equal(Both(first.AddDays(-1)), sheet.GetProperty("openingBalance").GetDecimal());
        Assert.Equal(Both(on ?? first.AddMonths(1).AddDays(-1)), sheet.GetProperty("closingBalance").GetDecimal());
        Assert.All(sheet.GetProperty("rows").EnumerateArray(),
            row => Assert.True(row.GetProperty("line").GetInt64() <= atLine));
    }

    private static decimal AddUp(List<JsonElement> lines, string compartment, string holding, int atLine,
        DateOnly? on) => lines
        .Take(atLine)
        .Where(l => l.TryGetProperty("occurredOn", out var day)
            && (on is null || DateOnly.Parse(day.GetString()!, CultureInfo.InvariantCulture) <= on))
        .Sum(l => Change(l, compartment, holding));

    private static decimal Change(JsonElement line, string compartment, string holding)
    {
        bool IsHere(JsonElement place) =>
            place.GetProperty("compartment").GetString() == compartment
                && place.GetProperty("holding").GetString() == holding;
        decimal Of(string field) => line.GetProperty(field).GetDecimal();
        return line.GetProperty("kind").GetString() switch
        {
            "fill" or "refund" when IsHere(line) => Of("amount"),
            "reversal" or "fillRun" =>
                line.GetProperty("changes").EnumerateArray().Where(IsHere)
                    .Sum(change => change.GetProperty("change").GetDecimal()),
            "spend" when IsHere(line) => -Of("amount"),
            "settlement" when IsHere(line) => Of("difference"),
            "transfer" or "sweep" => (IsHere(line.GetProperty("to")) ? Of("amount") : 0m)
                - (IsHere(line.GetProperty("from")) ? Of("amount") : 0m),
            _ => 0m,
        };
    }
}
