using System.Globalization;
using System.Text.RegularExpressions;
using AngleSharp.Dom;
using AngleSharp.Html.Dom;
using AngleSharp.Html.Parser;
using Xunit;

namespace CashEvents.Api.Tests.Printing;

/// <summary>A page to print, as a browser would take it apart.</summary>
internal sealed partial class PrintedSheet
{
    private PrintedSheet(IHtmlDocument document) => Document = document;

    public IHtmlDocument Document { get; }

    /// <summary>
    /// Asks for the page of an address and asserts what holds for every page: it is well-formed, stands alone and runs
    /// nothing, and its charts say their figures in words.
    /// </summary>
    public static async Task<PrintedSheet> GetAsync(ApiClient client, string path) =>
        Of(await client.GetAsync(path, ("Accept", "text/html")));

    /// <summary>Takes a page that was asked for, and asserts the same of it.</summary>
    public static PrintedSheet Of(Reply reply)
    {
        reply.MustBe(200);
        Assert.Equal("text/html; charset=utf-8", reply.Headers["Content-Type"]);
        Assert.StartsWith("<!DOCTYPE html>", reply.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("://", reply.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("@import", reply.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("url(", reply.Text, StringComparison.Ordinal);

        // Strict: anything that a browser would have to mend is an error.
        var document = new HtmlParser(new HtmlParserOptions { IsStrictMode = true }).ParseDocument(reply.Text);
        Assert.Equal("en", document.DocumentElement.GetAttribute("lang"));
        Assert.Equal("utf-8", document.QuerySelector("meta[charset]")!.GetAttribute("charset"));
        Assert.Equal("default-src 'none'; style-src 'unsafe-inline'",
            document.QuerySelector("meta[http-equiv=Content-Security-Policy]")!.GetAttribute("content"));
        Assert.NotEqual("", document.Title);
        Assert.Empty(document.QuerySelectorAll("script, link, img, iframe, object, embed, form, base, a"));
        Assert.DoesNotContain(document.All.SelectMany(e => e.Attributes),
            a => a.Name is "src" or "href" || a.Name.StartsWith("on", StringComparison.Ordinal));
        foreach (var chart in document.QuerySelectorAll("svg"))
        {
            Assert.Equal("img", chart.GetAttribute("role"));
            Assert.NotEqual("", chart.QuerySelector("title")!.TextContent);
            Assert.Matches("[0-9]", chart.QuerySelector("desc")!.TextContent);
        }

        return new PrintedSheet(document);
    }

    /// <summary>What a style says of a selector that stands alone in it.</summary>
    public string Style(string selector)
    {
        var style = Document.QuerySelector("style")!.TextContent;
        var at = style.IndexOf($"    {selector} {{", StringComparison.Ordinal);
        Assert.True(at >= 0, $"No style for {selector}.");
        return style[at..style.IndexOf('}', at)];
    }

    /// <summary>The cells of a table's body, row by row.</summary>
    public static List<string[]> Rows(IParentNode within, string table) => Cells(within, table + " tbody tr");

    /// <summary>The cells of some rows.</summary>
    public static List<string[]> Cells(IParentNode within, string rows) =>
        [.. within.QuerySelectorAll(rows).Select(row => row.Children.Select(Words).ToArray())];

    /// <summary>An element's words with single spaces between them.</summary>
    public static string Words(IElement element) => Spaces().Replace(element.TextContent, " ").Trim();

    /// <summary>A figure as it is printed: a dash is nothing.</summary>
    public static decimal Figure(string printed) =>
        printed == "–" ? 0 : decimal.Parse(printed.Replace('\u2212', '-'), NumberStyles.Number,
            CultureInfo.InvariantCulture);

    [GeneratedRegex(@"\s+")]
    private static partial Regex Spaces();
}
