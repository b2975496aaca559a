using System.Net.Mime;
using System.Text;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Web;

namespace CashEvents.Api.Printing;

/// <summary>Pages of HTML to print: Razor components rendered once, to text.</summary>
internal static class PrintedPages
{
    /// <summary>A page of a book with its parameters by name, and with the book's imprint.</summary>
    /// <param name="http">The request.</param>
    /// <param name="book">The book.</param>
    /// <param name="line">The last line that the page knows.</param>
    /// <param name="parameters">The page's own.</param>
    public static async Task<IResult> OfAsync<TPage>(HttpContext http, Book book, long line,
        Dictionary<string, object?> parameters) where TPage : IComponent
    {
        var services = http.RequestServices;
        var household = book.Household!;
        var last = await services.GetRequiredService<LineReader>()
            .FindAsync(Caller.Of(http).Household, line, http.RequestAborted).ConfigureAwait(false);
        var imprint = new Imprint(household.Name, TimeZoneInfo.FindSystemTimeZoneById(household.TimeZone),
            household.DateAt(services.GetRequiredService<TimeProvider>().GetUtcNow()), line, last?.Hash);
        RenderFragment page = builder =>
        {
            builder.OpenComponent<TPage>(0);
            builder.AddMultipleAttributes(1, parameters!);
            builder.CloseComponent();
        };
        return await OfAsync<CascadingValue<Imprint>>(http, new()
        {
            [nameof(CascadingValue<Imprint>.Value)] = imprint,
            [nameof(CascadingValue<Imprint>.IsFixed)] = true,
            [nameof(CascadingValue<Imprint>.ChildContent)] = page,
        }).ConfigureAwait(false);
    }

    /// <summary>A page of no book with its parameters by name.</summary>
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
