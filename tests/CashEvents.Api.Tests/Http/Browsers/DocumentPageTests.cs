using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// The OpenAPI document's page as somebody uses it: the key put in, an address opened, tried and executed with what
/// stands there.
/// </summary>
public sealed partial class DocumentPageTests(ChromiumBrowser browser, DemoServer demo)
{
    /// <summary>
    /// Room by room, since each step takes the page longer the longer the document is: all that writes, and one of
    /// those that read. Each address is asked as it is shown by <see cref="ShownExamplesTests"/> too.
    /// </summary>
    [ThoroughFact]
    public async Task What_is_offered_to_try_works_with_what_stands_there()
    {
        var household = await demo.DemoAsync();
        var operations = await demo.OperationsAsync();
        // Of those that are not offered, one will do.
        var one = operations.First(o => !o.IsOffered);
        var chosen = operations.Where(o => o.IsOffered).GroupBy(o => (o.Tag, Reads: o.Method == "GET"))
            .SelectMany(some => some.Key.Reads ? some.Take(1) : some).ToList();
        var tried = new List<string>();
        foreach (var room in operations.GroupBy(o => o.Tag))
        {
            var (page, complaints) = await OpenAsync(household.Keeper.Key!, room.Key);
            foreach (var operation in room.Where(o => chosen.Contains(o) || o == one))
            {
                await TryIfOfferedAsync(page, operation, tried);
            }

            Assert.Empty(complaints);
            await page.Context.CloseAsync();
        }

        Assert.Equal(chosen.Select(o => o.ToString()).Order(), tried.Order());
    }

    private static async Task TryIfOfferedAsync(IPage page, Operation operation, List<string> tried)
    {
        var method = $".opblock-{operation.Method}".ToLowerInvariant();
        var block = page.Locator($".opblock{method}:has([data-path='{operation.Path}'])");
        await block.Locator(".opblock-summary-control").ClickAsync();
        await block.Locator(".opblock-section").First.WaitForAsync();
        if (await block.Locator(".try-out__btn").CountAsync() > 0)
        {
            var status = await TryAsync(page, block);
            Assert.True(status is >= 200 and < 300,
                $"{operation}: {status} {await block.Locator(".live-responses-table").InnerTextAsync()}");
            tried.Add(operation.ToString());
        }

        await block.Locator(".opblock-summary-control").ClickAsync();
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

    private async Task<(IPage Page, List<string> Complaints)> OpenAsync(string key, string? room = null)
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
        if (room is not null)
        {
            await page.RouteAsync("**/openapi.json", async route => await route.FulfillAsync(new()
            {
                ContentType = "application/json",
                Body = OfRoom(room, await (await route.FetchAsync()).TextAsync()),
            }));
        }

        await page.GotoAsync((await demo.ServerAsync()).Address + "/swagger");
        await page.Locator(".opblock").First.WaitForAsync();
        await page.Locator(".auth-wrapper .authorize").ClickAsync();
        await page.Locator(".auth-container input").FillAsync(key);
        await page.Locator(".auth-btn-wrapper .authorize").ClickAsync();
        await page.Locator(".auth-btn-wrapper .btn-done").ClickAsync();
        return (page, complaints);
    }

    /// <summary>The document with the addresses of one room, and the forms that they name.</summary>
    private static string OfRoom(string room, string document)
    {
        var whole = JsonNode.Parse(document)!;
        foreach (var path in whole["paths"]!.AsObject().Select(path => path.Value!.AsObject()))
        {
            Keep(path, path.Where(o => (string?)o.Value!["tags"]![0] == room).Select(o => o.Key));
        }

        var forms = whole["components"]!["schemas"]!.AsObject();
        var named = new HashSet<string>();
        for (var next = Named(whole["paths"]!); next.Count > 0;)
        {
            named.UnionWith(next);
            next = [.. next.SelectMany(name => Named(forms[name]!)).Except(named)];
        }

        Keep(forms, named);
        return whole.ToJsonString();
    }

    private static void Keep(JsonObject all, IEnumerable<string> names)
    {
        foreach (var other in all.Select(one => one.Key).Except(names.ToList()).ToList())
        {
            all.Remove(other);
        }
    }

    private static HashSet<string> Named(JsonNode part) =>
        [.. FormsNamed().Matches(part.ToJsonString()).Select(match => match.Groups[1].Value)];

    [GeneratedRegex("#/components/schemas/([^\"]+)\"")]
    private static partial Regex FormsNamed();

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
