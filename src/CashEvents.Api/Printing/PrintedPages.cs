using System.Net.Mime;
using System.Text;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Web;

namespace CashEvents.Api.Printing;

/// <summary>Pages of HTML to print: Razor components rendered once, to text.</summary>
internal static class PrintedPages
{
    /// <summary>A page with its parameters by name.</summary>
    public static async Task<IResult> OfAsync<TPage>(HttpContext http, Dictionary<string, object?> parameters)
        where TPage : IComponent
    {
        var services = http.RequestServices;
        await using var renderer = new HtmlRenderer(services, services.GetRequiredService<ILoggerFactory>());
        var html = await renderer.Dispatcher.InvokeAsync(async () =>
            (await renderer.RenderComponentAsync<TPage>(ParameterView.FromDictionary(parameters)).ConfigureAwait(false))
                .ToHtmlString()).ConfigureAwait(false);
        return TypedResults.Text(html, MediaTypeNames.Text.Html, Encoding.UTF8);
    }
}
