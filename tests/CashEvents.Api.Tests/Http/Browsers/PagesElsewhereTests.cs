using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;
using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// Web pages of another origin, in a real browser: none may, unless the keeper names where they are from.
/// </summary>
public sealed class PagesElsewhereTests(ChromiumBrowser browser, SharedServer shared)
{
    [Fact]
    public async Task A_page_on_another_port_reads_and_writes_only_in_the_book_whose_keeper_named_it()
    {
        await using var elsewhere = await ServePageAsync();
        var origin = elsewhere.Urls.Single();
        var (ours, theirs) = (await shared.HarbourRowAsync(), await shared.HarbourRowAsync());
        var page = await browser.NewPageAsync();
        await page.GotoAsync(origin);

        Assert.Equal("refused", await FillAsync(page, ours));
        Assert.Equal(Household.SetUpLines, await ours.LineAsync());

        (await ours.Keeper.PutAsync("/api/page-origins", $$"""{"origins": ["{{origin}}"]}""")).MustBe(200);
        Assert.Equal($"201 \"{Household.SetUpLines + 1}\" /api/lines/{Household.SetUpLines + 1}",
            await FillAsync(page, ours));
        Assert.Equal("refused", await ReadAsync(page, theirs));
        Assert.StartsWith("200", await ReadAsync(page, ours));

        // What the browser still believes of the question before does not show it the answer.
        (await ours.Keeper.PutAsync("/api/page-origins", """{"origins": []}""")).MustBe(200);
        Assert.Equal("refused", await ReadAsync(page, ours));
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task The_question_before_is_answered_without_a_key_for_an_origin_that_some_keeper_named()
    {
        var household = await shared.HarbourRowAsync();
        var origin = $"https://{household.Id}.example:8443";
        var stranger = household.Server.Client(null);

        var before = await AskAsync(stranger, origin);
        (await household.Keeper.PutAsync("/api/page-origins", $$"""{"origins": ["{{origin}}"]}""")).MustBe(200)
            .MustSay($$"""{"origins": ["{{origin}}"]}""");
        var after = await AskAsync(stranger, origin);
        var other = await AskAsync(stranger, origin + "0");

        Assert.All([before, other], reply => Assert.DoesNotContain("Access-Control-Allow-Origin", reply.Headers.Keys));
        Assert.Equal((204, origin, "DELETE"), (after.Status, after.Headers["Access-Control-Allow-Origin"],
            after.Headers["Access-Control-Allow-Methods"]));
        Assert.Equal("authorization,idempotency-key", after.Headers["Access-Control-Allow-Headers"]);
        Assert.DoesNotContain("Access-Control-Allow-Credentials", after.Headers.Keys);
        Assert.Contains("Origin", after.Headers["Vary"]);
    }

    [Theory]
    [InlineData("*")]
    [InlineData("null")]
    [InlineData("harbour.example")]
    [InlineData("https://harbour.example/")]
    [InlineData("https://harbour.example:443")]
    [InlineData("https://Harbour.example")]
    [InlineData("https://keeper@harbour.example")]
    [InlineData("ftp://harbour.example")]
    [InlineData("https://harbour.example/page")]
    public async Task What_no_browser_names_as_an_origin_is_refused(string origin)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PutAsync("/api/page-origins",
            $$"""{"origins": ["http://127.0.0.1:8080", "http://[::1]:8080", "{{origin}}"]}"""))
            .MustBlame(400, "malformed", "origins[2]");
        (await household.Keeper.GetAsync("/api/page-origins")).MustBe(200).MustSay("""{"origins": []}""");
    }

    [Fact]
    public async Task Only_the_keeper_names_them()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");

        (await partner.PutAsync("/api/page-origins", """{"origins": []}""")).MustBeProblem(403, "not-allowed");
        (await partner.GetAsync("/api/page-origins")).MustBeProblem(403, "not-allowed");
    }

    private static Task<Reply> AskAsync(ApiClient stranger, string origin) => stranger.SendAsync("OPTIONS",
        "/api/keys/partner", null, ("Origin", origin), ("Access-Control-Request-Method", "DELETE"),
        ("Access-Control-Request-Headers", "authorization,idempotency-key"));

    private static Task<string> FillAsync(IPage page, Household household) => page.EvaluateAsync<string>("""
        async ([address, key]) => {
            try {
                const answer = await fetch(`${address}/api/fills`, {
                    method: 'POST',
                    headers: { Authorization: `Bearer ${key}`, 'Content-Type': 'application/json', 'Idempotency-Key': 'page' },
                    body: '{"compartment": "ferry-fares", "amount": 60.00}',
                });
                return `${answer.status} ${answer.headers.get('ETag')} ${answer.headers.get('Location')}`;
            } catch { return 'refused'; }
        }
        """, new[] { household.Server.Address, household.Keeper.Key });

    private static Task<string> ReadAsync(IPage page, Household household) => page.EvaluateAsync<string>("""
        async ([address, key]) => {
            try {
                const answer = await fetch(`${address}/api/balances`, { headers: { Authorization: `Bearer ${key}` } });
                return `${answer.status} ${await answer.text()}`;
            } catch { return 'refused'; }
        }
        """, new[] { household.Server.Address, household.Keeper.Key });

    private static async Task<WebApplication> ServePageAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        var app = builder.Build();
        app.Urls.Add("http://127.0.0.1:0");
        app.MapGet("/", () => TypedResults.Text("<!doctype html><title>Elsewhere</title>", "text/html"));
        await app.StartAsync(TestContext.Current.CancellationToken);
        return app;
    }
}
