using System.Net.Mime;
using System.Text;

namespace CashEvents.Api.Hosting;

/// <summary>Serves the household's page: its files, and itself at the address of each of its views.</summary>
internal static class HouseholdPage
{
    // It compiles WebAssembly, and runs no script that does not come from here.
    private const string Policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; "
        + "img-src 'self' data:; connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'self'; "
        + "form-action 'none'; frame-ancestors 'none'";

    private const string Files = "CashEvents.Api.staticwebassets.endpoints.json";
    private const string Itself = "index.html";

    // Below each of them are views of one thing each.
    private static readonly string[] _places = ["sheets", "payday", "count", "ahead", "book", "enter"];

    /// <summary>Its files come from the build's folders where the program was not published.</summary>
    public static void UsePageFiles(this WebApplicationBuilder builder)
    {
        builder.WebHost.UseStaticWebAssets();
        // To look for files that the build did not list, it would take every address that there is.
        builder.Configuration["ReloadStaticAssetsAtRuntime"] = "false";
    }

    /// <summary>Adds them; nothing where the program was built without the page.</summary>
    public static void MapPage(this WebApplication app)
    {
        if (!IsServed(app))
        {
            return;
        }

        var files = Path.Combine(AppContext.BaseDirectory, Files);
        using var reader = new StreamReader(app.Environment.WebRootFileProvider.GetFileInfo(Itself).CreateReadStream());
        var page = reader.ReadToEnd();
        var policy = new PagePolicy(Policy);
        app.MapStaticAssets(files).WithMetadata(policy).ExcludeFromDescription();
        Delegate show = (HttpContext http) =>
        {
            // It is asked for anew each time, as are those few of its files that are not named by their content.
            http.Response.Headers.CacheControl = "no-cache";
            return TypedResults.Text(page, MediaTypeNames.Text.Html, Encoding.UTF8);
        };
        foreach (var address in _places.Append("").Concat(_places.Select(place => place + "/{**view}")))
        {
            app.MapGet("/" + address, show).WithMetadata(policy).ExcludeFromDescription();
        }
    }

    /// <summary>Whether the program was built with the page.</summary>
    public static bool IsServed(WebApplication app) => File.Exists(Path.Combine(AppContext.BaseDirectory, Files))
        && app.Environment.WebRootFileProvider.GetFileInfo(Itself).Exists;
}

/// <summary>What the household's page may load and run (Content Security Policy Level 3).</summary>
/// <param name="Text">The header's value.</param>
internal sealed record PagePolicy(string Text);
