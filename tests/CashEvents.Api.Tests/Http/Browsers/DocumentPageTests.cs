using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// The OpenAPI document's page as somebody uses it: the key put in, an address opened, tried and executed with what
/// stands there.
/// </summary>
public sealed class DocumentPageTests(ChromiumBrowser browser, DemoServer demo)
{
    /// <summary>At hand the first address of each room; opening one takes the page a second or more.</summary>
    [ThoroughFact]
    public async Task Everything_that_is_offered_to_try_works_with_what_stands_there()
    {
        var household = await demo.DemoAsync();
        var operations = await demo.OperationsAsync();
        var chosen = operations.Where(o => o.IsOffered).GroupBy(o => o.Tag)
            .SelectMany(room => room.Take(Thorough.Times(atHand: 1, all: int.MaxValue)))
            .Select(o => o.ToString()).ToHashSet();
        var (page, complaints) = await OpenAsync(household.Keeper.Key!);

        // Of those that are not offered, one will do.
        var one = operations.First(o => !o.IsOffered).ToString();
        var tried = new List<string>();
        foreach (var block in await page.Locator(".opblock").AllAsync())
        {
            var what =
                $"{await block.Locator(".opblock-summary-method").InnerTextAsync()} "
                    + $"{await block.Locator(".opblock-summary-path").GetAttributeAsync("data-path")}";
            if (what != one && !chosen.Contains(what) && operations.Any(o => o.ToString() == what))
            {
                continue;
            }

            await block.Locator(".opblock-summary-control").ClickAsync();
            await block.Locator(".opblock-section").First.WaitForAsync();
            if (await block.Locator(".try-out__btn").CountAsync() > 0)
            {
                var status = await TryAsync(page, block);
                Assert.True(status is >= 200 and < 300,
                    $"{what}: {status} {await block.Locator(".live-responses-table").InnerTextAsync()}");
                tried.Add(what);
            }

            await block.Locator(".opblock-summary-control").ClickAsync();
        }

        Assert.Equal(chosen.Order(), tried.Order());
        Assert.Empty(complaints);
        await page.Context.CloseAsync();
    }

    [ThoroughFact]
    public async Task A_movement_tried_twice_is_written_twice()
    {
        var household = await demo.DemoAsync();
        var (page, _) = await OpenAsync(household.Keeper.Key!);
        var before = await household.LineAsync();

        var block = page.Locator("#operations-Movements-postSpends");
        await block.Locator(".opblock-summary-control").ClickAsync();
        await TryAsync(page, block);
        await ExecuteAsync(page, block);

        Assert.Equal(before + 2, await household.LineAsync());
        await page.Context.CloseAsync();
    }

    [ThoroughFact]
    public async Task A_printed_page_is_shown_as_a_page()
    {
        var household = await demo.DemoAsync();
        var (page, complaints) = await OpenAsync(household.Keeper.Key!);

        var block = page.Locator("[id$='-getWeeks']");
        await block.Locator(".opblock-summary-control").ClickAsync();
        await block.Locator(".try-out__btn").ClickAsync();
        await block.Locator(".content-type").First.SelectOptionAsync("text/html");
        Assert.Equal(200, await ExecuteAsync(page, block));

        var sheet = block.FrameLocator("iframe.printed");
        await sheet.Locator("h1").First.WaitForAsync();
        Assert.Contains("Harbour Row", await sheet.Locator("body").InnerTextAsync());
        Assert.Equal("collapse", await sheet.Locator("table").First
            .EvaluateAsync<string>("table => getComputedStyle(table).borderCollapse"));
        Assert.Empty(complaints);
        await page.Context.CloseAsync();
    }

    private async Task<(IPage Page, List<string> Complaints)> OpenAsync(string key)
    {
        var page = await browser.NewPageAsync();
        var complaints = new List<string>();
        page.Console += (_, message) =>
        {
            if (message.Type == "error" || message.Text.Contains("Content Security Policy", StringComparison.Ordinal))
            {
                complaints.Add(message.Text);
            }
        };
        page.PageError += (_, error) => complaints.Add(error);
        await page.GotoAsync((await demo.ServerAsync()).Address + "/swagger");
        await page.Locator(".opblock").First.WaitForAsync();
        await page.Locator(".auth-wrapper .authorize").ClickAsync();
        await page.Locator(".auth-container input").FillAsync(key);
        await page.Locator(".auth-btn-wrapper .authorize").ClickAsync();
        await page.Locator(".auth-btn-wrapper .btn-done").ClickAsync();
        return (page, complaints);
    }

    private static async Task<int> TryAsync(IPage page, ILocator block)
    {
        await block.Locator(".try-out__btn").ClickAsync();
        return await ExecuteAsync(page, block);
    }

    private static async Task<int> ExecuteAsync(IPage page, ILocator block)
    {
        var answered = await page.RunAndWaitForResponseAsync(() => block.Locator(".btn.execute").ClickAsync(),
            _ => true);
        await block.Locator(".live-responses-table .response").First.WaitForAsync();
        return answered.Status;
    }
}
