using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>Lines leave the database in one way: with their whole household, when its people want it.</summary>
public sealed class ForgottenHouseholdTests(SharedServer shared)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task It_is_in_no_table_its_keys_open_nothing_and_the_others_are_as_they_were()
    {
        var gone = await EveryKind.WrittenAsync(shared);
        await KeepBesideAsync(gone);
        var other = await shared.HarbourRowAsync();
        await other.FillAsync("ferry-fares", "60.00");
        var (lines, others) = (await gone.LineAsync(), await RowsAsync(other));
        await using var feed = await Listener.ListenAsync(gone.Keeper);

        var taken = await Forgotten(gone).ForgetAsync(gone.Id, lines, Stop);

        Assert.True(taken > lines);
        Assert.Equal("", await TablesWithAsync(gone.Server.Database, gone.Id));
        Assert.Equal("", await TablesWithAsync(gone.Server.Database, KeyRing.Hash(gone.Keeper.Key!)));
        (await gone.Keeper.GetAsync("/api/household")).MustBeProblem(401, "key-unknown");
        (await gone.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))
            .MustBeProblem(401, "key-unknown");
        await feed.RestAsync();
        Assert.Equal(others, await RowsAsync(other));
        await other.FillAsync("ferry-fares", "1.00");
    }

    [Fact]
    public async Task Whoever_does_not_know_how_many_lines_there_are_forgets_nothing()
    {
        var household = await shared.HarbourRowAsync();
        var rows = await RowsAsync(household);

        Assert.Equal(0, await Forgotten(household).ForgetAsync(household.Id, Household.SetUpLines - 1, Stop));
        Assert.Equal(0, await Forgotten(household).ForgetAsync("no-such-household", 1, Stop));

        Assert.Equal(rows, await RowsAsync(household));
        await household.FillAsync("ferry-fares", "1.00");
    }

    [Theory]
    [InlineData]
    [InlineData("--lines", "4")]
    [InlineData("quay-house", "--lines", "four")]
    [InlineData("quay-house", "--lines")]
    [InlineData("quay-house", "lighthouse-lane")]
    public void A_command_that_can_not_be_read_is_told(params string[] about) =>
        Assert.Throws<StartException>(() => CommandLine.Read(["forget-household", .. about]));

    private static ForgottenHousehold Forgotten(Household household) =>
        household.Server.Services.GetRequiredService<ForgottenHousehold>();

    // What is not made from lines.
    private static async Task KeepBesideAsync(Household household)
    {
        (await household.Keeper.PutAsync("/api/page-origins", """{"origins": ["https://dashboard.example"]}"""))
            .MustBe(200);
        (await household.Keeper.PostAsync("/api/webhooks", """{"url": "http://127.0.0.1:9/", "kinds": ["fill"]}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/sessions", $$"""{"key": "{{household.Keeper.Key}}"}""",
            ("Sec-Fetch-Site", "same-origin"))).MustBe(200);
        (await household.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""",
            ("Idempotency-Key", "once"))).MustBe(201);
    }

    private static async Task<string?> TablesWithAsync(string database, string text)
    {
        var with = new List<string>();
        foreach (var table in await TablesAsync(database))
        {
            if (await Database.AskAsync(database,
                $"select count(*) from cashevents.{table} t where t::text like '%{text}%'") != "0")
            {
                with.Add(table);
            }
        }

        return string.Join(", ", with);
    }

    private static async Task<string> RowsAsync(Household household)
    {
        var rows = new List<string?>();
        foreach (var table in await TablesAsync(household.Server.Database))
        {
            rows.Add(await Database.AskAsync(household.Server.Database, $"select string_agg(t::text, ' ' order by "
                + $"t::text) from cashevents.{table} t where t::text like '%{household.Id}%'"));
        }

        return string.Join('\n', rows.OfType<string>());
    }

    private static async Task<IEnumerable<string>> TablesAsync(string database) =>
        JsonSerializer.Deserialize<string[]>((await Database.AskAsync(database, "select json_agg(table_name order by "
            + "table_name)::text from information_schema.tables where table_schema = 'cashevents' and "
            + "table_type = 'BASE TABLE'"))!)!;
}
