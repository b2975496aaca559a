using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>One browser, two keys: its cache gives neither the other's figures.</summary>
public sealed class TwoKeysTests(ChromiumBrowser browser, DemoServer demo)
{
    private static readonly string[] _addresses =
        ["/api/balances", "/api/household", "/api/wallets", "/api/compartments", "/api/weeks", "/api/keys",
            "/api/months/2026-10/trail"];

    [Theory]
    [InlineData("default")]
    [ThoroughData("no-cache")]
    [ThoroughData("force-cache")]
    public async Task A_second_key_gets_its_own_answer(string cache)
    {
        var (ours, theirs) = (await demo.DemoAsync(), await demo.DemoAsync());
        await ours.SpendAsync("market-days", "10.00", description: "Ours");
        await theirs.SpendAsync("market-days", "77.77", description: "Theirs");
        (await ours.Keeper.PostAsync("/api/wallets", """{"label": "Our tin"}""")).MustBe(201);
        (await theirs.Keeper.PostAsync("/api/wallets", """{"label": "Their tin"}""")).MustBe(201);
        Assert.Equal(await ours.LineAsync(), await theirs.LineAsync());
        var page = await browser.NewPageAsync();
        await page.GotoAsync(ours.Server.Address + "/swagger/index.html");

        foreach (var address in _addresses)
        {
            foreach (var household in new[] { ours, theirs, ours })
            {
                var seen = await FetchAsync(page, address, household, cache);
                Assert.Equal((await household.Keeper.GetAsync(address)).MustBe(200).Text, seen);
            }
        }

        await page.Context.CloseAsync();
    }

    [ThoroughFact]
    public async Task A_sheet_asked_for_as_a_page_is_not_the_sheet_asked_for_as_data()
    {
        var household = await demo.DemoAsync();
        var page = await browser.NewPageAsync();
        await page.GotoAsync(household.Server.Address + "/swagger/index.html");

        var forms = new[] { "application/json", "text/csv", "text/html", "application/json" };
        var bodies = new List<string>();
        foreach (var form in forms)
        {
            bodies.Add(await FetchAsync(page, "/api/weeks", household, "default", form));
        }

        Assert.Equal(["{", "w", "<", "{"], bodies.Select(body => body[..1]));
        await page.Context.CloseAsync();
    }

    private static Task<string> FetchAsync(IPage page, string address, Household household, string cache,
        string accept = "application/json") => page.EvaluateAsync<string>(
        "async ([address, key, cache, accept]) => (await fetch(address, { cache, headers: { Authorization: `Bearer "
            + "${key}`, Accept: accept } })).text()",
        new[] { address, household.Keeper.Key, cache, accept });
}
