using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;
using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>The example page of docs/dashboard, in a real browser, from an origin of its own.</summary>
public sealed class DashboardTests(ChromiumBrowser browser)
{
    private static readonly string _file = Path.Combine(AddressesTests.Root, "docs", "dashboard", "index.html");

    [ThoroughFact]
    public async Task It_shows_balances_and_the_week_with_a_viewers_key_and_follows_the_book_in_ink_and_pencil()
    {
        await using var elsewhere = await ServeAsync();
        var server = await RunningServer.StartAsync();
        var household = await (await Household.OpenAsync(server)).PaidMonthlyAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 21.00}}"""))
            .MustBe(200);
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("boat-insurance", "480.00", holding: "bank");
        await household.SpendAsync("ferry-fares", "12.35", "2026-11-14");
        var viewer = await household.IssueAsync("kitchen", "viewer");
        (await household.Keeper.PutAsync("/api/page-origins", $$"""{"origins": ["{{elsewhere.Urls.Single()}}"]}"""))
            .MustBe(200);
        var page = await browser.NewPageAsync();
        var faults = new List<string>();
        page.PageError += (_, fault) => faults.Add(fault);
        await page.GotoAsync(elsewhere.Urls.Single());

        await page.GetByLabel("Where the book is").FillAsync(server.Address);
        await page.GetByLabel("A viewer's key").FillAsync(viewer.Key!);
        await page.GetByRole(AriaRole.Button, new() { Name = "Open" }).ClickAsync();
        await page.GetByText("agreed").WaitForAsync();

        var week = page.Locator("section.wide");
        Assert.Equal("12.35 21.00 47.65", await CellsAsync(week, "Ferry fares", 3));
        Assert.Equal("47.65 0.00 47.65", await CellsAsync(page.Locator("section", new() { HasText = "Oilskin wallet" }),
            "Ferry fares", 3));
        Assert.Equal("0.00 480.00 480.00", await CellsAsync(page.Locator("section", new() { HasText = "Desk drawer" }),
            "Boat insurance", 3));
        await page.ScreenshotAsync(new() { Path = Picture("dashboard.png"), FullPage = true });

        // Nobody loads it anew.
        await household.SpendAsync("ferry-fares", "1.00");
        await page.GetByText("46.65").First.WaitForAsync();

        await server.DisposeAsync();
        await page.Locator("main.pencil").WaitForAsync();
        await page.GetByText("pencilled since").WaitForAsync();
        await page.EmulateMediaAsync(new() { ColorScheme = ColorScheme.Dark });
        await page.ScreenshotAsync(new() { Path = Picture("dashboard-pencil.png"), FullPage = true });
        Assert.Empty(faults);
        await page.Context.CloseAsync();
    }

    private static string Picture(string name) =>
        Path.Combine(Directory.CreateDirectory(Path.Combine(Path.GetTempPath(), "cashevents-pictures")).FullName, name);

    private static async Task<string> CellsAsync(ILocator sheet, string label, int cells) => string.Join(' ',
        (await sheet.Locator("tr", new() { HasText = label }).Locator("td").AllInnerTextsAsync()).Take(cells));

    private static async Task<WebApplication> ServeAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        var app = builder.Build();
        app.Urls.Add("http://127.0.0.1:0");
        var page = await File.ReadAllTextAsync(_file, TestContext.Current.CancellationToken);
        app.MapGet("/", () => TypedResults.Text(page, "text/html"));
        await app.StartAsync(TestContext.Current.CancellationToken);
        return app;
    }
}
