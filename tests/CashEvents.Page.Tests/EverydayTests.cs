using System.Text;
using System.Text.RegularExpressions;
using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Xunit;

namespace CashEvents.Page.Tests;

/// <summary>What happens to a page over the years: other windows, other clocks, newer pages, no mouse.</summary>
public sealed partial class EverydayTests(ChromiumBrowser browser, SharedServer shared)
{
    [ThoroughFact]
    public async Task A_spend_is_written_by_keyboard_alone()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper, width: 1280);

        await TabToAsync(phone, "a[href='/sheets/market-days']");
        await phone.Page.Keyboard.PressAsync("Enter");
        await phone.Page.WaitForSelectorAsync("h1:text-is('Market days')");
        await TabToAsync(phone, "#amount");
        await phone.Page.Keyboard.TypeAsync("4,20");
        await TabToAsync(phone, "#what");
        await phone.Page.Keyboard.TypeAsync("Leeks");
        await phone.Page.Keyboard.PressAsync("Enter");

        await phone.ReadsAsync("Leeks");
        await phone.InInkAsync();
        Assert.Equal("45.80", await household.HoldsAsync("market-days"));
    }

    [ThoroughFact]
    public async Task A_phone_whose_clock_is_wrong_says_so_and_goes_by_the_households_day()
    {
        // The server's clock stands at noon of 15 November 2026, and the browser's is the machine's own.
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.ReadsAsync("This phone's clock differs from the server's. The household's day is 15 Nov 2026.");
        await phone.Context.SetOfflineAsync(true);
        await phone.TurnToAsync("Market days");
        await phone.SpendAsync("5.00", "Flowers");
        await phone.ReadsAsync("1 line in pencil");
        await phone.Context.SetOfflineAsync(false);

        await phone.InInkAsync();
        Assert.Equal("2026-11-15", (await household.LinesAsync())[^1].GetProperty("occurredOn").GetString());
    }

    [ThoroughFact]
    public async Task Two_windows_with_one_queue_send_nothing_twice()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.KeptForOfflineAsync();
        await phone.TurnToAsync("Market days");
        var other = await phone.Context.NewPageAsync();
        await other.GotoAsync(phone.Address + "/sheets/market-days");
        await other.WaitForSelectorAsync("#amount");
        await phone.Page.BringToFrontAsync();
        await phone.Context.SetOfflineAsync(true);
        await phone.SpendAsync("5.00", "Flowers");
        await phone.SpendAsync("6.00", "Leeks");
        await phone.ReadsAsync("2 lines in pencil");
        await other.Locator("body", new() { HasText = "2 lines in pencil" }).WaitForAsync();

        await phone.Context.SetOfflineAsync(false);

        await phone.InInkAsync();
        await other.Locator("body", new() { HasText = "All in ink" }).WaitForAsync();
        Assert.Equal(["Flowers", "Leeks"], (await household.LinesAsync())
            .Where(line => line.GetProperty("kind").GetString() == "spend")
            .Select(line => line.GetProperty("description").GetString()!).Order());
        await other.CloseAsync();
    }

    [ThoroughFact]
    public async Task A_window_that_was_reading_while_it_wrote_shows_what_is_kept()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.KeptForOfflineAsync();
        await phone.TurnToAsync("Market days");
        // A machine that is busy gives what was read three seconds later.
        await phone.Page.EvaluateAsync("""
            () => {
              const all = IDBObjectStore.prototype.getAll;
              IDBObjectStore.prototype.getAll = function () {
                const asked = all.apply(this);
                if (this.name !== 'pencil') return asked;
                const given = {};
                asked.onsuccess = () => setTimeout(() => {
                  given.result = asked.result;
                  given.onsuccess();
                  setTimeout(() => window.hasBeenShown = true, 1000);
                }, 3000);
                return given;
              };
            }
            """);
        await phone.Page.RouteAsync("**/api/spends", async route =>
        {
            await phone.Page.EvaluateAsync("() => new BroadcastChannel('cashevents').postMessage('written')");
            await route.ContinueAsync();
        });

        await phone.SpendAsync("5.00", "Flowers");

        await phone.Page.WaitForFunctionAsync("() => window.hasBeenShown");
        await phone.InInkAsync();
    }

    [ThoroughFact]
    public async Task A_server_that_was_busy_for_a_moment_is_asked_again()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.TurnToAsync("Market days");
        await phone.InInkAsync();
        await phone.Page.RouteAsync("**/api/copy**", route => route.FulfillAsync(new() { Status = 503 }),
            new() { Times = 1 });

        await household.FillAsync("market-days", "4.40");

        await phone.ReadsAsync("54.40");
        await phone.InInkAsync();
    }

    [ThoroughFact]
    public async Task A_newer_page_is_told_and_loaded_when_somebody_will_and_loses_nothing()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.KeptForOfflineAsync();
        await phone.TurnToAsync("Market days");
        await phone.Context.RouteAsync("**/api/spends", route => route.AbortAsync());
        await phone.SpendAsync("5.00", "Flowers");
        await phone.ReadsAsync("1 line in pencil");

        await phone.Page.EvaluateAsync("() => navigator.serviceWorker.register('service-worker.js?newer')");
        await phone.ReadsAsync("A newer page is ready.");
        await phone.Page.RunAndWaitForRequestFinishedAsync(() => phone.Page.ClickAsync("text=Load it"),
            new() { Predicate = request => request.IsNavigationRequest });

        await phone.ReadsAsync("1 line in pencil");
        await phone.Page.WaitForSelectorAsync("tr.pencil");
        await phone.Context.UnrouteAllAsync();
        await phone.ReopenAsync("/sheets/market-days");
        await phone.InInkAsync();
        Assert.Equal("45.00", await household.HoldsAsync("market-days"));
    }

    [ThoroughFact]
    public async Task What_another_page_kept_and_this_one_cannot_read_is_asked_for_anew()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.InInkAsync();
        await phone.Page.EvaluateAsync("""
            () => new Promise(done => { const asked = indexedDB.open('cashevents'); asked.onsuccess = () => {
              const together = asked.result.transaction('book', 'readwrite'), book = together.objectStore('book');
              const change = (key, how) => book.get(key).onsuccess = got => {
                const kept = JSON.parse(got.target.result); how(kept); book.put(JSON.stringify(kept), key); };
              change('copy', told => told.copy.book.sections['daily balances'] = 'as another page has it');
              change('holder', holder => holder.readBy = 'another page');
              together.oncomplete = () => { asked.result.close(); done(true); }; }; })
            """);

        await phone.ReopenAsync("/sheets/market-days");

        await phone.InInkAsync();
        Assert.Equal(["Put in | 50.00 | 50.00"], await phone.RowsAsync());
    }

    [ThoroughFact]
    public async Task What_is_printed_is_without_a_fault_too()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "550.00");
        await household.FillAsync("boat-insurance", "5.00", holding: "bank");
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", """{"first": 1.00, "count": 5}""")).MustBe(200);
        var round = (await household.Keeper.PostAsync("/api/count-rounds", "{}")).MustBe(201).Json.GetProperty("id");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        foreach (var print in new[] { "months/2026-11/trackers?size=note-20", "wallets?size=a6", "outlook",
            "saving-plans/rainy-day", $"count-rounds/{round}/sheet", "months/2026-11/trail" })
        {
            await phone.Page.GotoAsync(phone.Address + "/api/print/" + print);
            var found = await phone.Page.RunAxe(new AxeRunOptions());
            Assert.True(found.Violations.Length == 0, print + ": " + string.Join('\n', found.Violations.Select(v =>
                $"{v.Id}: {v.Help} {string.Join(" ", v.Nodes.Take(3).Select(n => n.Html))}")));
            if (print.EndsWith("/sheet", StringComparison.Ordinal))
            {
                // Two sheets to a page, with all notes and coins and the 500, which has a row once one is found.
                await phone.Page.EvaluateAsync("() => document.querySelectorAll('table.count tbody tr:first-child')"
                    + ".forEach(row => row.after(row.cloneNode(true)))");
                var page = await phone.Page.PdfAsync(new() { Format = "A4", PreferCSSPageSize = true });
                Assert.Single(PageOfPdf().Matches(Encoding.Latin1.GetString(page)));
            }
        }
    }

    [GeneratedRegex(@"/Type\s*/Page\b(?!s)")]
    private static partial Regex PageOfPdf();

    private static async Task TabToAsync(PhoneInHand phone, string selector)
    {
        for (var i = 0; i < 60; i++)
        {
            await phone.Page.Keyboard.PressAsync("Tab");
            if (await phone.Page.EvaluateAsync<bool>("selector => document.activeElement?.matches(selector) ?? false",
                selector))
            {
                return;
            }
        }

        Assert.Fail($"No number of tabs leads to {selector}.");
    }
}
