using System.Net.Mime;
using System.Security.Cryptography;
using System.Text;
using System.Text.RegularExpressions;

namespace CashEvents.Api.Hosting;

/// <summary>Serves the household's page: its files, and itself at the address of each of its views.</summary>
internal static partial class HouseholdPage
{
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
        var policy = new PagePolicy(PolicyOf(page));
        app.MapStaticAssets(files).WithMetadata(policy).ExcludeFromDescription();
        Delegate show = (HttpContext http) =>
        {
            // It names its files by their content, so it is asked for anew each time; it keeps itself for offline.
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

    // Its one script that stands in the page itself says which file is meant by which name.
    private static string PolicyOf(string page)
    {
        var inside = InsideScript().Matches(page).Select(script => script.Groups[1].Value)
            .Where(script => script.Length > 0)
            .Select(script => $" 'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(script)))}'");
        return $"default-src 'none'; script-src 'self' 'wasm-unsafe-eval'{string.Concat(inside)}; style-src 'self'; "
            + "img-src 'self' data:; connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'self'; "
            + "form-action 'none'; frame-ancestors 'none'";
    }

    [GeneratedRegex(@"<script type=""importmap"">(.*?)</script>", RegexOptions.Singleline)]
    private static partial Regex InsideScript();
}

/// <summary>What the household's page may load and run (Content Security Policy Level 3).</summary>
/// <param name="Text">The header's value.</param>
internal sealed record PagePolicy(string Text);
