using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Plans;

public sealed class SuggestionTests(SharedServer shared)
{
    [Fact]
    public async Task The_amount_rests_on_whole_weeks_and_is_told_with_them()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "300.00", on: "2026-09-14");
        // Nine whole weeks before the present one, 2026-W46, which does not count.
        for (var week = 0; week < 9; week++)
        {
            await household.SpendAsync("ferry-fares", $"{10 + week}.00",
                on: new DateOnly(2026, 9, 7).AddDays(7 * week + 7).ToString("yyyy-MM-dd"));
        }

        var answer = (await household.Keeper.GetAsync("/api/plan/suggestions?coverage=0.5")).MustBe(200).Json;

        var ferry = answer.GetProperty("compartments").EnumerateArray().First();
        Assert.Equal(["2026-W38", "2026-W39", "2026-W40", "2026-W41", "2026-W42", "2026-W43", "2026-W44", "2026-W45"],
            ferry.GetProperty("weeks").EnumerateArray().Select(w => w.GetProperty("week").GetString()));
        Assert.Equal("13.50", ferry.GetProperty("suggested").GetRawText());
        var market = answer.GetProperty("compartments").EnumerateArray().ElementAt(1);
        Assert.False(market.TryGetProperty("suggested", out _));
        Assert.Contains("fewer than 8", market.GetProperty("note").GetString());
        Assert.Equal("0.8", (await household.Keeper.GetAsync("/api/plan/suggestions")).MustBe(200).Json
            .GetProperty("coverage").GetRawText());
    }

    [Fact]
    public async Task The_days_before_there_was_money_make_no_whole_week_of_their_week()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "100.00", on: "2026-10-21");
        await household.FillAsync("market-days", "100.00", on: "2026-10-19", holding: "bank");
        await household.FillAsync("market-days", "100.00", on: "2026-10-21");
        await household.SpendAsync("ferry-fares", "4.00", on: "2026-10-22");

        var compartments = (await household.Keeper.GetAsync("/api/plan/suggestions")).MustBe(200).Json
            .GetProperty("compartments");

        Assert.Equal(["2026-W44", "2026-W45"],
            compartments[0].GetProperty("weeks").EnumerateArray().Select(w => w.GetProperty("week").GetString()));
        Assert.Equal(["2026-W43", "2026-W44", "2026-W45"],
            compartments[1].GetProperty("weeks").EnumerateArray().Select(w => w.GetProperty("week").GetString()));
    }

    [Theory]
    [InlineData("coverage=1.1", "coverage")]
    [InlineData("coverage=-0.1", "coverage")]
    [InlineData("coverage=most", "coverage")]
    [InlineData("share=0.8", "share")]
    public async Task A_share_that_is_none_is_blamed(string query, string field)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/plan/suggestions?{query}")).MustBlame(400, "malformed", field);
    }

    // PostgreSQL's percentile_cont is type 7 too, in binary fractions: compared before rounding up.
    [Fact]
    public async Task Quantiles_agree_with_PostgreSQL()
    {
        await using var database = NpgsqlDataSource.Create((await shared.ServerAsync()).Database);
        var random = new Random(4);
        for (var i = 0; i < 200; i++)
        {
            var values = Enumerable.Range(0, random.Next(1, 60)).Select(_ => (long)random.Next(-500, 9000)).ToArray();
            var share = random.Next(0, 101) / 100m;
            await using var command =
                database.CreateCommand("select percentile_cont($1) within group (order by v) from unnest($2) as v");
            command.Parameters.Add(new NpgsqlParameter { Value = (double)share });
            command.Parameters.Add(new NpgsqlParameter { Value = values });

            var theirs = (double)(await command.ExecuteScalarAsync())!;

            Assert.Equal((long)Math.Ceiling(Math.Round(theirs, 6)),
                Suggestion.Quantile([.. values.Select(v => new Money(v))], share).Minor);
        }
    }
}
