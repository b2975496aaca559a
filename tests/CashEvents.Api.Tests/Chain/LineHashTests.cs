using System.Runtime.CompilerServices;
using System.Text;
using Xunit;

namespace CashEvents.Api.Tests.Chain;

/// <summary>
/// What the hash of a line is, by the example of docs/events.md. Its values were computed by another program: Python's
/// json (keys sorted, no spaces) and hashlib.
/// </summary>
public sealed class LineHashTests
{
    private const string First = "c2dd2e454c1c55928b37a15e1e319eaeb9635262611a7efb8da5a05380533bef";
    private const string Second = "a0aad21c90638f2fb7a4072c067f3d9603afcc11752d53c3844895b783e36b43";

    private const string Described =
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "monday"}""";
    private const string Spent =
        """{"compartment": "ferry-fares", "holding": "cash", "amount": 840, "occurredOn": "2026-11-03", "description": "Return to the mainland"}""";

    private static readonly DateTimeOffset _opened = new(2026, 11, 1, 9, 30, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset _spent = new DateTimeOffset(2026, 11, 3, 17, 20, 41, TimeSpan.Zero)
        .AddMicroseconds(103_212);

    [Fact]
    public void The_example_of_the_events_page_has_its_hashes()
    {
        Assert.Equal(First, LineHash.Of(LineHash.BeforeFirst, "harbour-row", 1, 1, "householdDescribed", _opened,
            "setup", Encoding.UTF8.GetBytes(Described)));
        Assert.Equal(Second, Of(First));
        var page = File.ReadAllText(Page());
        Assert.Contains(CanonicalLine(1, "householdDescribed", _opened, "setup", Described), page);
        Assert.Contains(CanonicalLine(2, "spend", _spent, "partner", Spent), page);
        Assert.Contains($"and its hash `{First}`", page);
        Assert.Contains($"and its hash `{Second}`", page);
    }

    [Fact]
    public void An_instant_hashes_alike_in_whatever_offset_it_is_written() =>
    Assert.Equal(Second, Of(First, recordedAt: _spent.ToOffset(TimeSpan.FromHours(5))));

    [Fact]
    public void Everything_that_a_line_says_is_in_its_hash() => Assert.Equal(
        9,
        new[]
        {
            Of(First), Of(LineHash.BeforeFirst), Of(First, household: "pier-lane"), Of(First, line: 3),
            Of(First, entryId: 1), Of(First, kind: "refund"),
            Of(First, recordedAt: _spent.AddMicroseconds(1)), Of(First, by: "keeper"),
            Of(First, content: Spent.Replace("840", "841", StringComparison.Ordinal)),
        }.Distinct().Count());

    private static string Of(
        string previous, string household = "harbour-row", long line = 2, long entryId = 2, string kind = "spend",
        DateTimeOffset? recordedAt = null, string by = "partner", string content = Spent) =>
        LineHash.Of(previous, household, line, entryId, kind, recordedAt ?? _spent, by,
            Encoding.UTF8.GetBytes(content));

    private static string CanonicalLine(long number, string kind, DateTimeOffset at, string by, string said) => "\n"
        + Encoding.UTF8.GetString(LineHash.Canonical("harbour-row", number, number, kind, at, by,
            Encoding.UTF8.GetBytes(said)).Span)
        + "\n";

    private static string Page([CallerFilePath] string here = "") =>
        Path.Combine(Path.GetDirectoryName(here)!, "..", "..", "..", "docs", "events.md");
}
