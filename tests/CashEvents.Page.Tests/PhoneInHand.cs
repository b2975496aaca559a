using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Page.Tests;

/// <summary>A phone with the household's page on it, as somebody holds it.</summary>
internal sealed class PhoneInHand : IAsyncDisposable
{
    // The page is large while it is built for tests: it is loaded once, and every test takes it from what is kept.
    private static IBrowserContext? _context;

    private readonly List<string> _complaints = [];

    private PhoneInHand(IBrowserContext context, string address) => (Context, Address) = (context, address);

    public IBrowserContext Context { get; }

    public string Address { get; }

    public IPage Page { get; private set; } = null!;

    /// <summary>What the browser complained of, but for a server that it can't reach or that shuts it out.</summary>
    public IReadOnlyList<string> Complaints => _complaints;

    /// <summary>A phone that is signed in, with its page kept for offline.</summary>
    public static async Task<PhoneInHand> SignedInAsync(ChromiumBrowser browser, ApiClient key, int width = 390)
    {
        var phone = await OpenAsync(browser, key.Address, width);
        await phone.Page.FillAsync("input[type=password]", key.Key!);
        await phone.Page.ClickAsync("button[type=submit]");
        await phone.Page.WaitForSelectorAsync(".frame");
        return phone;
    }

    /// <summary>A phone on which nobody is signed in and nothing is kept, but for the page's own files.</summary>
    public static async Task<PhoneInHand> OpenAsync(ChromiumBrowser browser, string address, int width = 390,
        string path = "/")
    {
        var context = _context ??= await NewContextAsync(browser);
        await context.SetOfflineAsync(false);
        await context.ClearCookiesAsync();
        var phone = new PhoneInHand(context, address) { Page = await context.NewPageAsync() };
        await phone.Page.SetViewportSizeAsync(width, 844);
        await phone.Page.GotoAsync(address + "/icon.svg");
        await phone.Page.EvaluateAsync("() => new Promise(done => { const gone = "
            + "indexedDB.deleteDatabase('cashevents'); gone.onsuccess = gone.onerror = () => done(true); })");
        await phone.ReopenAsync(path);
        return phone;
    }

    private static async Task<IBrowserContext> NewContextAsync(ChromiumBrowser browser)
    {
        var first = await browser.NewPageAsync();
        var context = await first.Context.Browser!.NewContextAsync(new()
        {
            ViewportSize = new() { Width = 390, Height = 844 },
            HasTouch = true,
            IsMobile = true,
            Locale = "en-IE",
        });
        await first.Context.CloseAsync();
        context.SetDefaultTimeout(180_000);
        return context;
    }

    /// <summary>Opens the page anew, as after it was closed or the phone was started.</summary>
    public async Task ReopenAsync(string path = "/")
    {
        var size = Page.ViewportSize!;
        await Page.CloseAsync();
        Page = await Context.NewPageAsync();
        await Page.SetViewportSizeAsync(size.Width, size.Height);
        Page.PageError += (_, error) => _complaints.Add(error);
        Page.Console += (_, said) =>
        {
            // A page that is taken away while it loads is no fault of its own, and one that did not load is seen.
            if (said.Type == "error" && !said.Text.Contains("net::ERR", StringComparison.Ordinal)
                && !said.Text.Contains("Failed to load resource", StringComparison.Ordinal)
                && !said.Text.Contains("Failed to fetch", StringComparison.Ordinal))
            {
                _complaints.Add(said.Text);
            }
        };
        await Page.GotoAsync(Address + path);
        await Page.WaitForSelectorAsync(".frame, .signin");
    }

    /// <summary>Goes to a view by a link of the page, and waits until it asks the server for nothing more.</summary>
    public async Task GoAsync(string view)
    {
        await Page.EvaluateAsync("view => Blazor.navigateTo(view)", view);
        await Page.WaitForURLAsync(Address + view);
        await Page.Locator("main h1").First.WaitForAsync();
        await Page.WaitForFunctionAsync("() => !document.body.innerText.includes('Asking the server.')");
    }

    /// <summary>Waits until the browser keeps the page's files, so that it opens where there is no network.</summary>
    public Task KeptForOfflineAsync() => Page.EvaluateAsync("() => navigator.serviceWorker.ready");

    /// <summary>Spends on the sheet that is open: the amount, and what to write beside it if told.</summary>
    public async Task SpendAsync(string amount, string? what = null)
    {
        await Page.FocusAsync("#amount");
        await Page.FillAsync("#amount", amount);
        if (what is not null)
        {
            await Page.FillAsync("#what", what);
        }

        await Page.ClickAsync("button.write");
    }

    /// <summary>The sheet of a compartment, from the front sheets.</summary>
    public async Task TurnToAsync(string compartment)
    {
        await Page.ClickAsync("nav >> text=Sheets");
        await Page.ClickAsync($"main table >> text=\"{compartment}\"");
        await Page.WaitForSelectorAsync($"h1:text-is(\"{compartment}\")");
    }

    /// <summary>The rows of the sheet that is open: what, amount, left.</summary>
    public async Task<IReadOnlyList<string>> RowsAsync() =>
    [
        .. (await Page.Locator("table.lines > tbody > tr:not(.balance):not(.chosen)").AllAsync())
            .Select(row => row.EvaluateAsync<string>(
                "row => (row.classList.contains('pencil') ? '○ ' : '') + [...row.cells].slice(1).map(c => "
                + "c.querySelector('.words')?.innerText ?? c.innerText).join(' | ')").GetAwaiter().GetResult()),
    ];

    /// <summary>Waits until something is to be read on the page.</summary>
    public Task ReadsAsync(string words) => Page.Locator("body", new() { HasText = words }).WaitForAsync();

    /// <summary>Waits until all is in ink.</summary>
    public Task InInkAsync() => ReadsAsync("All in ink");

    public async ValueTask DisposeAsync()
    {
        await Page.CloseAsync();
        Assert.Empty(_complaints);
    }
}
