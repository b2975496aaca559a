using System.Text.Json;
using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// Words at the ends of what a day, a month, a week, an instant or a number can be: each is answered or refused, and
/// none is too much for the program.
/// </summary>
public sealed partial class EdgeTests(SharedServer shared)
{
    private static readonly string[] _edges =
    [
        "0001-01-01", "0001-01-02", "0001-12-31", "1899-12-31", "1900-01-01", "2009-12-31", "2010-01-01", "2070-12-31",
        "2071-01-01", "9998-12-31", "9999-01-01", "9999-12-27", "9999-12-31", "0000-00-00", "-0001-01-01", "2026-02-30",
        "0001-01", "0001-02", "1900-01", "9999-01", "9999-12", "0000-01", "2026-13",
        "0001-W01", "1899-W52", "1900-W01", "9998-W53", "9999-W01", "9999-W52", "0000-W00", "2026-W54",
        "0001-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59Z", "9999-12-31T23:59:59-14:00",
        "2026-11-15T12:00:00Z",
        "0", "-1", "1", "60", "1000", "2147483647", "2147483648", "-2147483649", "9223372036854775807",
        "9223372036854775808", "79228162514264337593543950335", "1e400", "NaN", "0.001",
        "", " ", ",", ":", "true", "cash", "spend", "keeper", "harbour-office:9223372036854775807", "harbour-office:-1",
        "harbour-office:", "ferry-fares", "50,20,10", "\uFFFE", "\u202E", new string('x', 3000),
    ];

    private readonly List<string> _faults = [];

    private static IEnumerable<string> Edges => _edges.Where((_, i) => Thorough.Everything || i % 5 == 0);

    private static readonly string[] _numbers =
        ["0", "-1", "-0", "1", "0.001", "1e-30", "1e28", "79228162514264337593543950335", "92233720368547758.07",
            "92233720368547758.08", "2147483647", "2147483648", "9223372036854775807", "-9223372036854775808",
            "9223372036854775808"];

    [Fact]
    public async Task Whatever_an_address_is_asked_for_it_is_answered_or_refused()
    {
        var server = await shared.ServerAsync();
        var household = await LivedInAsync();
        var random = new Random(2026);
        var (asked, answered) = (0, 0);
        foreach (var (path, parameters) in await ReadingAddressesAsync(server))
        {
            var usual = parameters.Where(p => p.InPath).ToDictionary(p => p.Name, p => Usual(path, p.Name));
            var questions = parameters.SelectMany(
                p => Edges.Select(edge => new Dictionary<string, string>(usual) { [p.Name] = edge })).Append(usual)
                .ToList();
            // And some of several edges at once.
            questions.AddRange(Enumerable.Range(0, parameters.Count > 1 ? Thorough.Times(10, 60) : 0)
                .Select(_ => parameters.Where(p => p.InPath || random.Next(2) == 0)
                .ToDictionary(p => p.Name,
                    p => p.InPath && random.Next(2) == 0 ? usual[p.Name] : _edges[random.Next(_edges.Length)])));
            foreach (var question in questions.Where(
                q => parameters.All(p => !p.InPath || q[p.Name].Trim().Length > 0)))
            {
                var address = parameters.Where(p => p.InPath)
                    .Aggregate(path, (whole, p) =>
                        whole.Replace($"{{{p.Name}}}", Uri.EscapeDataString(question[p.Name]),
                            StringComparison.Ordinal));
                var query = string.Join('&',
                    question.Where(q => !usual.ContainsKey(q.Key))
                        .Select(q => $"{q.Key}={Uri.EscapeDataString(q.Value)}"));
                var reply = await household.Keeper.GetAsync(query.Length > 0 ? $"{address}?{query}" : address);
                MustBeAnsweredOrRefused(reply, $"{address}?{query}");
                asked++;
                answered += reply.Status == 200 ? 1 : 0;
                if (reply.Status == 200)
                {
                    foreach (var form in new[] { "text/csv", "text/html" })
                    {
                        MustBeAnsweredOrRefused(await household.Keeper.GetAsync($"{address}?{query}", ("Accept", form)),
                            $"{address}?{query} as {form}");
                    }
                }
            }
        }

        Assert.Empty(_faults);
        Assert.InRange(asked, Thorough.Times(500, 3_000), int.MaxValue);
        Assert.InRange(answered, Thorough.Times(100, 300), asked);
    }

    [Fact]
    public async Task Whatever_day_or_number_a_request_writes_it_is_written_or_refused()
    {
        var household = await LivedInAsync();
        foreach (var (request, body) in WritingRequests.All.Where(r => r.Request.Body is not null)
            .SelectMany(r => AtEdges(r.Request.Body!).Select(body => (r.Request, body))))
        {
            var reply = await household.Keeper.SendAsync(request with { Body = body }, await household.LineAsync());
            MustBeAnsweredOrRefused(reply, $"{request.Operation} {body}");
        }

        // What was written at an edge can be read again.
        foreach (var address in new[] { "/api/balances", "/api/lines?limit=1000", "/api/months", "/api/weeks",
            "/api/outlook?months=60", "/api/sinking-funds", "/api/paydays", "/api/goals", "/api/custody",
            "/api/reconciliation", "/api/over-and-short", "/api/plan/suggestions" })
        {
            MustBeAnsweredOrRefused(await household.Keeper.GetAsync(address), address);
        }

        Assert.Empty(_faults);
        Assert.True((await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("agrees")
            .GetBoolean());
    }

    private void MustBeAnsweredOrRefused(Reply reply, string what)
    {
        if (reply.Status >= 500 || (reply.Status >= 400 && reply.ContentType != "application/problem+json"))
        {
            _faults.Add($"{what}: {reply.Status} {reply.ContentType} {reply.Text}");
        }
    }

    /// <summary>A household that has one of everything that can be asked for.</summary>
    private async Task<Household> LivedInAsync()
    {
        var household = await shared.HarbourRowAsync();
        await WriteAsync("Put", "/api/income-sources/harbour-office",
            """{"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2000.00}""");
        await WriteAsync("Put", "/api/standing-payments/quay-rent",
            """{"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640.00}""");
        await WriteAsync("Put", "/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00}}""");
        await WriteAsync("Put", "/api/compartments/ferry-fares/fill-rule", """{"kind": "weekly", "rank": 1}""");
        await WriteAsync("Post", "/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 280.00, "due": "2027-05-01", "every": "P1Y"}""");
        await WriteAsync("Put", "/api/saving-plans/rainy-day",
            """{"first": 1.00, "growth": 1.00, "count": 52, "from": "2026-11-15"}""");
        await WriteAsync("Put", "/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""");
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("market-days", "100.00", "2026-10-01");
        await household.SpendAsync("ferry-fares", "8.40");
        await WriteAsync("Post", "/api/counts", """{"compartment": "ferry-fares", "total": 50.00}""");
        await WriteAsync("Post", "/api/count-rounds", """{"wallet": "desk-drawer"}""");
        await WriteAsync("Post", "/api/handovers",
            """{"compartment": "market-days", "amount": 40.00, "carrier": "partner"}""");
        return household;

        async Task WriteAsync(string method, string address, string json) =>
            Assert.InRange((await household.Keeper.SendAsync(method.ToUpperInvariant(), address, json)).Status, 200,
                201);
    }

    private static async Task<IReadOnlyList<(string Path,
        IReadOnlyList<(string Name, bool InPath)> Parameters)>> ReadingAddressesAsync(RunningServer server)
    {
        var document = WholeDocument.Of((await server.Client(null).GetAsync("/openapi.json")).MustBe(200).Text);
        return
        [
            .. document.GetProperty("paths").EnumerateObject()
                .Where(path => path.Name.StartsWith("/api/", StringComparison.Ordinal) && path.Name != "/api/feed"
                    && path.Value.TryGetProperty("get", out _))
                .Select(path => (path.Name,
                    (IReadOnlyList<(string, bool)>)[.. Parameters(path.Value.GetProperty("get"))])),
        ];

        static IEnumerable<(string, bool)> Parameters(JsonElement operation) =>
            !operation.TryGetProperty("parameters", out var parameters) ? []
            : parameters.EnumerateArray().Where(p => p.GetProperty("in").GetString() is "path" or "query")
                .Select(p => (p.GetProperty("name").GetString()!, p.GetProperty("in").GetString() == "path"));
    }

    private static string Usual(string path, string parameter) => parameter switch
    {
        "month" => "2026-11",
        "week" => "2026-W46",
        "payday" or "day" => "2026-10-30",
        "n" => "12",
        _ when path.Contains("compartments", StringComparison.Ordinal) => "ferry-fares",
        _ when path.Contains("wallets", StringComparison.Ordinal) => "oilskin-wallet",
        _ when path.Contains("goals", StringComparison.Ordinal) => "hull",
        _ when path.Contains("income-sources", StringComparison.Ordinal) => "harbour-office",
        _ when path.Contains("standing-payments", StringComparison.Ordinal) => "quay-rent",
        _ when path.Contains("sinking-funds", StringComparison.Ordinal) => "boat-insurance",
        _ when path.Contains("saving-plans", StringComparison.Ordinal) => "rainy-day",
        _ when path.Contains("places", StringComparison.Ordinal) => "kitchen-safe",
        _ when path.Contains("count-rounds", StringComparison.Ordinal) => "22",
        _ => "21",
    };

    /// <summary>A body with one of its days, weeks or numbers at an edge.</summary>
    private static IEnumerable<string> AtEdges(string body) => Replaceable().Matches(body).SelectMany(found =>
        (found.Value[0] == '"' ? _edges.Where(edge => edge.Length is > 0 and < 30)
            .Select(edge => JsonSerializer.Serialize(edge)) : _numbers)
            .Select(edge => $"{body[..found.Index]}{edge}{body[(found.Index + found.Length)..]}"));

    [GeneratedRegex("\"\\d{4}-(W\\d\\d|\\d\\d-\\d\\d)\"|(?<=: )-?\\d+(\\.\\d+)?(?=[,}])")]
    private static partial Regex Replaceable();
}
