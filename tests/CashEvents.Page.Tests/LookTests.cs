using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Page.Tests;

/// <summary>Every view can be read and used by everybody: by axe, on a narrow phone, large, and by night.</summary>
public sealed class LookTests(ChromiumBrowser browser, SharedServer shared)
{
    private static readonly string[] _views =
    [
        "/", "/sheets/market-days", "/payday", "/count", "/count/market-days", "/ahead", "/book", "/book/keys",
        "/book/setup", "/book/months", "/book/months/2026-10", "/book/where", "/book/print",
    ];

    [Theory]
    [InlineData(320, ColorScheme.Light)]
    [ThoroughData(390, ColorScheme.Dark)]
    [ThoroughData(1280, ColorScheme.Light)]
    public async Task Every_view_is_without_a_fault(int width, ColorScheme colours)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "100.00");
        await household.FillAsync("boat-insurance", "70.00", holding: "bank");
        await household.SpendAsync("market-days", "9.60", description: "Greengrocer's stall");
        await using var phone = await PhoneInHand.OpenAsync(browser, household.Keeper.Address, width);
        await phone.Page.EmulateMediaAsync(new() { ColorScheme = colours });
        await MustBeFaultlessAsync(phone, "sign in");
        await phone.Page.FillAsync("input[type=password]", household.Keeper.Key!);
        await phone.Page.ClickAsync("button[type=submit]");
        await phone.Page.WaitForSelectorAsync(".frame");

        foreach (var view in _views)
        {
            await phone.GoAsync(view);
            await MustBeFaultlessAsync(phone, view);
        }

        await phone.GoAsync("/sheets/market-days");
        await phone.Page.ClickAsync("button.words >> nth=-1");
        await phone.Page.FocusAsync("#amount");
        await phone.Page.FillAsync("#amount", "200");
        await phone.Page.ClickAsync("button.write");
        await phone.Page.WaitForSelectorAsync(".refusal");
        await MustBeFaultlessAsync(phone, "the row to write in, with a refusal");

        // Text at twice its size (WCAG 2.2, 1.4.4).
        await phone.Page.EvaluateAsync("() => { document.documentElement.style.fontSize = '212%'; }");
        await MustNotBeWiderAsync(phone, "text at twice its size");
    }

    private static async Task MustBeFaultlessAsync(PhoneInHand phone, string view)
    {
        var found = await phone.Page.RunAxe(new AxeRunOptions());
        Assert.True(found.Violations.Length == 0, view + ": " + string.Join('\n', found.Violations.Select(v =>
            $"{v.Id}: {v.Help} {string.Join(" ", v.Nodes.Select(n => n.Html))}")));
        await MustNotBeWiderAsync(phone, view);
    }

    private static async Task MustNotBeWiderAsync(PhoneInHand phone, string view)
    {
        var over = await phone.Page.EvaluateAsync<int>(
            "() => document.documentElement.scrollWidth - document.documentElement.clientWidth");
        Assert.True(over <= 0, $"{view} is {over} px wider than the window.");
        Assert.Empty(await phone.Page.EvaluateAsync<string[]>("""
            () => [...document.querySelectorAll('.sheet table')].filter(table =>
              table.getBoundingClientRect().right > table.closest('.sheet').getBoundingClientRect().right)
              .map(table => table.innerText)
            """));
    }
}
