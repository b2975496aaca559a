using Microsoft.Playwright;
using Xunit;

[assembly: AssemblyFixture(typeof(ChromiumBrowser))]

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// The one real browser that tests share, each with a context of its own. It is the system's; nothing is downloaded.
/// </summary>
public sealed class ChromiumBrowser : IAsyncDisposable
{
    private static readonly string[] _names = ["chromium", "chromium-browser", "google-chrome"];
    private static readonly string[] _arguments =
        ["--no-sandbox", "--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking",
            "--disable-component-update", "--disable-sync"];

    private readonly SemaphoreSlim _starting = new(1);
    private IPlaywright? _playwright;
    private IBrowser? _browser;

    /// <summary>A page in a profile of its own, with a cache and nothing in it.</summary>
    internal async Task<IPage> NewPageAsync()
    {
        var program = Find();
        // A machine without a browser can run all other tests; where work is let in, none is left out.
        Assert.SkipWhen(program is null && string.IsNullOrEmpty(Environment.GetEnvironmentVariable("CI")), Missing);
        Assert.True(program is not null, Missing);
        await _starting.WaitAsync(TestContext.Current.CancellationToken);
        try
        {
            _playwright ??= await Playwright.CreateAsync();
            _browser ??= await _playwright.Chromium.LaunchAsync(
                new() { ExecutablePath = program, Headless = true, Args = _arguments });
        }
        finally
        {
            _starting.Release();
        }

        var page = await (await _browser.NewContextAsync()).NewPageAsync();
        // A bound for a page that hangs, on machines that are busy too.
        page.SetDefaultTimeout(120_000);
        return page;
    }

    private const string Missing =
        "This test needs a browser: install Chromium (Debian and Ubuntu: apt-get install chromium), or name one in "
            + "CASHEVENTS_TEST_BROWSER.";

    private static string? Find() =>
        Environment.GetEnvironmentVariable("CASHEVENTS_TEST_BROWSER") is { Length: > 0 } named ? named
        : (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator)
            .SelectMany(folder => _names.Select(name => Path.Combine(folder, name))).FirstOrDefault(File.Exists);

    public async ValueTask DisposeAsync()
    {
        if (_browser is not null)
        {
            await _browser.DisposeAsync();
        }

        _playwright?.Dispose();
        _starting.Dispose();
    }
}
