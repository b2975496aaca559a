using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// A series of requests drawn from a seed: of every kind of movement, on days in no order, many of them refused.
/// </summary>
internal sealed class GeneratedHistory(Household household, int seed)
{
    private static readonly string[] _compartments =
        ["ferry-fares", "market-days", "bakery-van", "boat-insurance", "rainy-day"];
    private static readonly string[] _holdings = ["cash", "cash", "cash", "bank"];

    private readonly Random _random = new(seed);
    private readonly List<long> _counts = [];
    private readonly List<long> _lines = [];
    private bool _paid;

    public int Written { get; private set; }

    public int Refused { get; private set; }

    /// <summary>Sends so many requests, now and then several at once.</summary>
    public async Task SendAsync(int requests)
    {
        await PaidAsync();
        while (requests > 0)
        {
            if (_random.Next(8) == 0)
            {
                // A Friday from September on; most are filled already, as long as they were not undone.
                Note(await household.FillPaydayAsync(
                    $"{new DateOnly(2026, 9, 11).AddDays(7 * _random.Next(9)):yyyy-MM-dd}"));
            }

            var together = Math.Min(requests, _random.Next(1, 8));
            requests -= together;
            var sent = Enumerable.Range(0, together).Select(_ => Next()).ToList();
            foreach (var reply in await Task.WhenAll(sent.Select(r => household.Keeper.PostAsync(r.Address, r.Body))))
            {
                Note(reply);
            }
        }
    }

    private async Task PaidAsync()
    {
        if (!_paid)
        {
            _paid = true;
            await household.SourceAsync("tide-office", "FREQ=WEEKLY", "2026-09-11", "90.00");
            await household.RuleAsync("ferry-fares", """{"kind": "ceiling", "ceiling": 150.00, "roundTo": 5.00}""");
            await household.RuleAsync("market-days", """{"kind": "fixed", "amount": 33.33}""");
            await household.RuleAsync("boat-insurance",
                """{"kind": "share", "share": 50, "holding": "bank", "rank": 2}""");
        }
    }

    /// <summary>Something to suppose, and how it is written.</summary>
    public (string Supposed, string Address, string Body) Suppose()
    {
        var (address, body) = Next();
        return address.Split('/') switch
        {
            [_, _, "lines", var line, "reversal"] => ($$"""{"reverse": {{line}}}""", address, body),
            [_, _, "lines", var line, "amendment"] =>
                ($$"""{"amend": {{line}}, {{body[body.IndexOf("\"replacement\"", StringComparison.Ordinal)..]}}""",
                    address, body),
            [_, _, "counts", var count, "settlement"] =>
                ($$"""{"record": {"kind": "settlement", "count": {{count}}, {{body[1..]}}}""", address, body),
            _ => ($$"""{"record": {{WithKind(address, body)}}}""", address, body),
        };
    }

    /// <summary>Notes what came of one that was supposed first.</summary>
    public void Note(Reply reply)
    {
        if (reply.Status is 404 or 409)
        {
            Refused++;
            return;
        }

        Assert.True(reply.Status is 200 or 201, $"Seed {seed}: {reply.Status} {reply.Text}");
        Written++;
        _lines.AddRange(reply.Lines);
        if (reply.Json.TryGetProperty("countId", out var count))
        {
            _counts.Add(count.GetInt64());
        }
    }

    private (string Address, string Body) Next() => _random.Next(28) switch
    {
        >= 26 => Notes(),
        >= 23 when _lines.Count > 0 => ($"/api/lines/{Line()}/reversal", """{"reason": "Supposed"}"""),
        >= 20 when _lines.Count > 0 => Amendment(),
        var other => Movement(other % 20),
    };

    // Notes are exchanged, or counted so that they are known.
    private (string Address, string Body) Notes()
    {
        var (one, other) = (Compartment(), Compartment());
        return one == other
            ? ("/api/counts",
                $$"""{"compartment": "{{one}}", "denominations": {"5": {{_random.Next(4)}}, "2": {{_random.Next(4)}}, "1": {{_random.Next(4)}} } }""")
            : ("/api/exchanges",
                $$"""{"compartment": "{{one}}", "with": "{{other}}", "gives": {"5": 1}, "takes": {"2": 2, "1": 1}, {{Day()}}}""");
    }

    private (string Address, string Body) Amendment()
    {
        var (address, body) = Movement(_random.Next(17));
        return ($"/api/lines/{Line()}/amendment",
            $$"""{"reason": "Supposed", "replacement": {{WithKind(address, body)}}}""");
    }

    // Mostly a late one: early ones are soon corrected all.
    private long Line() => _lines[^Math.Min(_lines.Count, 1 + Math.Min(_random.Next(60), _random.Next(60)))];

    // In a batch or an amendment a movement says its kind: /api/spends takes those of the kind spend.
    private static string WithKind(string address, string body) =>
        $$"""{"kind": "{{address.Split('/')[2][..^1]}}", {{body[1..]}}""";

    private (string Address, string Body) Movement(int chance) => chance switch
    {
        < 5 => ("/api/fills", $$"""{{{Place()}}, "amount": {{Amount(20000)}}, {{Day()}}, "description": "pay"}"""),
        < 11 => Spend(),
        < 13 => ("/api/refunds", $$"""{{{Place()}}, "amount": {{Amount(500)}}, {{Day()}}}"""),
        < 16 => Transfer(),
        < 17 => ("/api/sweeps",
            $$"""{"from": {"purpose": "spending"}, "to": "rainy-day", "leave": {{Amount(3000)}}, {{Day()}}}"""),
        < 19 => ("/api/counts", $$"""{{{Place()}}, "total": {{Amount(20000)}}, {{Day()}}}"""),
        _ when _counts.Count > 0 => ($"/api/counts/{_counts[^1]}/settlement", """{"reason": "Counted twice"}"""),
        _ => ("/api/fills", """{"compartment": "market-days", "amount": 0.07}"""),
    };

    private (string Address, string Body) Spend()
    {
        var (compartment, cover) = (Compartment(), Compartment());
        var covered = cover != compartment && _random.Next(3) == 0 ? $", \"restFrom\": \"{cover}\"" : "";
        return ("/api/spends",
            $$"""{"compartment": "{{compartment}}", "amount": {{Amount(9000)}}, {{Day()}}{{covered}}}""");
    }

    private (string Address, string Body) Transfer()
    {
        var (from, to) = (Compartment(), Compartment());
        var holding = _holdings[_random.Next(_holdings.Length)];
        var other = from == to ? holding == "cash" ? "bank" : "cash" : _holdings[_random.Next(_holdings.Length)];
        return ("/api/transfers",
            $$"""{"from": {"compartment": "{{from}}", "holding": "{{holding}}"}, "to": {"compartment": "{{to}}", "holding": "{{other}}"}, "amount": {{Amount(9000)}}, {{Day()}}}""");
    }

    private string Compartment() => _compartments[_random.Next(_compartments.Length)];

    private string Place() =>
        $"\"compartment\": \"{Compartment()}\", \"holding\": \"{_holdings[_random.Next(_holdings.Length)]}\"";

    private string Amount(int mostCents) => (_random.Next(1, mostCents) / 100m).ToString("0.00");

    // From the middle of September to the household's today, later days more often.
    private string Day() => $"\"occurredOn\": "
        + $"\"{new DateOnly(2026, 11, 15).AddDays(-Math.Min(_random.Next(61), _random.Next(61))):yyyy-MM-dd}\"";
}
