using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// A request by its operation as the OpenAPI document names it, what stands in the address for the part in braces, and
/// its body.
/// </summary>
/// <remarks>In part and body <c>{line}</c> is the book's line before the request that is tried, <c>{previous}</c> the
/// one before that, and <c>{entry}</c> the first line that it wrote.</remarks>
internal sealed record Request(string Operation, string Part, string? Body = null)
{
    /// <summary>What stands behind the address.</summary>
    public string Query { get; init; } = "";
}

/// <summary>
/// A request that is written, with what is sent before it so that it can be, and what may be sent after it to change
/// what it was about.
/// </summary>
internal sealed record WritingRequest(Request Request)
{
    public Request[] Before { get; init; } = [];

    public Request[] After { get; init; } = [];

    /// <summary>Whether the line before it is stamped by a clock that was ahead.</summary>
    public bool ClockWasAhead { get; init; }

    /// <summary>Whether the partner sends it, and not the keeper.</summary>
    public bool ByPartner { get; init; }
}

/// <summary>
/// One request, or several, for each address that takes an idempotency key. They are meant for a household that is paid
/// monthly and has a hundred in market-days.
/// </summary>
internal static partial class WritingRequests
{
    private const string Goal =
        """{"compartment": "boat-insurance", "label": "Hull", "amount": 280.00, "due": "2027-05-01", "every": "P1Y"}""";
    private const string Source =
        """{"label": "Net mending", "rule": "FREQ=WEEKLY;BYDAY=FR", "first": "2026-09-04", "notBankDay": "next"}""";
    private const string Payment =
        """{"kind": "fixedBill", "label": "Coal", "rule": "FREQ=MONTHLY;BYMONTHDAY=5", "first": "2026-09-05", "notBankDay": "next", "amount": 20.00}""";
    private const string Steps = """{"first": 1.00, "growth": 1.00, "count": 52, "from": "2026-11-15"}""";
    private const string Rule = """{"kind": "fixed", "amount": 130.00, "rank": 3}""";
    private const string Fives = """{"compartment": "ferry-fares", "denominations": {"20": 2, "5": 3}}""";
    private const string Sheet =
        """{"compartment": "ferry-fares", "csv": "date,description,amount,balance\n2026-11-02,Pay,60.00,60.00\n2026-11-03,Return,-60.00,0.00\n"}""";

    private static readonly Request FerryPaid = new("post /api/fills", "",
        """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-01"}""");
    private static readonly Request InBank = new("post /api/fills", "",
        """{"compartment": "rainy-day", "amount": 100.00, "holding": "bank"}""");
    private static readonly Request FerryRelabelled = new("patch /api/compartments/{id}", "ferry-fares",
        """{"label": "Ferry and bus fares"}""");

    public static IReadOnlyList<WritingRequest> All { get; } =
    [
        new(new("put /api/household", "",
            """{"name": "Harbour Row 2", "currency": "EUR", "timeZone": "Europe/Dublin"}""")),
        new(new("post /api/wallets", "", """{"label": "Sea chest"}""")),
        new(new("patch /api/wallets/{id}", "desk-drawer", """{"label": "Bureau"}""")) { After =
            [new("patch /api/wallets/{id}", "desk-drawer", """{"label": "Chest of drawers"}""")] },
        new(new("post /api/compartments", "",
            """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "sinkingFund"}""")) { After =
                [new("patch /api/compartments/{id}", "vet-visits", """{"label": "Vet"}""")] },
        new(new("patch /api/compartments/{id}", "bakery-van", """{"closed": true}""")) { After =
            [new("patch /api/compartments/{id}", "bakery-van", """{"closed": false, "wallet": "desk-drawer"}""")] },
        new(new("put /api/compartments/{id}/notes", "ferry-fares",
            """{"prefer": [10, 5], "avoid": [50], "atLeast": {"5": 4}}""")) { After =
                [new("put /api/compartments/{id}/notes", "ferry-fares", """{"prefer": [20]}""")] },
        new(new("put /api/compartments/{id}/fill-rule", "market-days", Rule)) { After =
            [new("delete /api/compartments/{id}/fill-rule", "market-days")] },
        new(new("delete /api/compartments/{id}/fill-rule", "market-days")) { Before =
            [new("put /api/compartments/{id}/fill-rule", "market-days", Rule)],
            After = [new("put /api/compartments/{id}/fill-rule", "market-days", Rule)] },
        new(FerryPaid),
        new(new("post /api/spends", "",
            """{"compartment": "ferry-fares", "amount": 64.20, "restFrom": "market-days"}""")) { Before =
                [FerryPaid] },
        new(new("post /api/refunds", "", """{"compartment": "market-days", "amount": 4.80}""")),
        new(new("post /api/transfers", "", """{"from": "market-days", "to": "ferry-fares", "amount": 5.00}""")),
        new(new("post /api/sweeps", "",
            """{"from": {"wallet": "oilskin-wallet"}, "to": "rainy-day", "leave": 5.00}""")),
        new(new("post /api/exchanges", "",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"20": 1}, "takes": {"10": 2}}""")) { Before = [FerryPaid] },
        new(new("post /api/counts", "", """{"compartment": "market-days", "total": 99.00}""")) { After =
            [new("post /api/counts", "", """{"compartment": "market-days", "total": 100.00}""")] },
        new(new("post /api/counts/{id}/settlement", "{line}", """{"reason": "Gone over the rail"}""")) { Before =
            [new("post /api/counts", "", """{"compartment": "market-days", "total": 99.00}""")] },
        new(new("post /api/counts/{id}/settlement", "{line}", """{"explanation": "recordedTwice-{previous}"}"""))
        {
            Before =
            [
                FerryPaid, new("post /api/spends", "",
                    """{"compartment": "ferry-fares", "amount": 7.10, "occurredOn": "2026-11-12", "description": "Bus"}"""),
                new("post /api/spends", "",
                    """{"compartment": "ferry-fares", "amount": 7.10, "occurredOn": "2026-11-12", "description": "Bus"}"""), new("post /api/counts", "", """{"compartment": "ferry-fares", "total": 52.90}"""),
            ],
            After = [new("post /api/counts", "", """{"compartment": "ferry-fares", "total": 50.00}""")],
        },
        new(new("post /api/bank-statements", "", """{"total": 101.20}""")) { Before = [InBank],
            After = [new("post /api/bank-statements", "", """{"total": 100.00}""")] },
        new(new("post /api/bank-statements/{id}/settlement", "{line}",
            """{"compartment": "rainy-day", "reason": "Interest"}""")) { Before =
                [InBank, new("post /api/bank-statements", "", """{"total": 101.20}""")] },
        new(new("post /api/counts/{id}/set-aside", "{line}",
            """{"denomination": 5.00, "to": "rainy-day"}""")) { Before =
                [FerryPaid, new("post /api/counts", "", Fives)],
                After = [new("post /api/counts", "", """{"compartment": "ferry-fares", "total": 50.00}""")] },
        new(new("post /api/count-rounds", "", """{"wallet": "oilskin-wallet", "blind": true}""")) { After =
            [new("post /api/count-rounds/{id}/close", "{entry}", """{"reason": "At the harbour"}""")] },
        new(new("post /api/count-rounds/{id}/counts", "{line}",
            """{"compartment": "market-days", "total": 99.00, "countedAt": "2026-11-15T12:00:00Z"}""")) { Before =
                [new("post /api/count-rounds", "", """{"wallet": "oilskin-wallet"}""")],
                After = [new("post /api/count-rounds/{id}/close", "{line}", """{"reason": "At the harbour"}""")] },
        new(new("post /api/count-rounds/{id}/confirmations", "{previous}", """{"compartments": ["market-days"]}"""))
        {
            ByPartner = true,
            Before = [new("post /api/count-rounds", "", """{"wallet": "oilskin-wallet"}"""),
                new("post /api/count-rounds/{id}/counts", "{line}",
                    """{"compartment": "market-days", "total": 99.00}""")],
            After = [new("post /api/count-rounds/{id}/counts", "{previous}",
                """{"compartment": "market-days", "total": 98.00}""")],
        },
        new(new("post /api/count-rounds/{id}/close", "{line}", """{"reason": "At the harbour"}""")) { Before =
            [new("post /api/count-rounds", "", """{"wallet": "oilskin-wallet"}""")],
            After = [new("post /api/count-rounds", "", """{"wallet": "oilskin-wallet"}""")] },
        new(new("put /api/places/{id}", "kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""")) { After =
                [new("put /api/places/{id}", "kitchen-safe",
                    """{"label": "Kitchen safe", "wallets": ["desk-drawer"]}""")] },
        new(new("delete /api/places/{id}", "boat-locker")) { Before =
            [new("put /api/places/{id}", "boat-locker", """{"label": "Boat locker", "wallets": []}""")],
            After = [new("put /api/places/{id}", "boat-locker",
                """{"label": "Boat locker", "wallets": ["desk-drawer"]}""")] },
        new(new("post /api/handovers", "",
            """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner"}""")) { Before =
                [FerryPaid, new("put /api/caution-limits", "", """{"carried": 10.00}""")],
                After = [new("post /api/handovers/{id}/return", "{entry}", """{"total": 60.00}"""),
                    new("put /api/caution-limits", "", """{"carried": 500.00}""")] },
        new(new("post /api/handovers/{id}/return", "{line}", """{"denominations": {"20": 3}}""")) { Before =
            [FerryPaid, new("post /api/handovers", "",
                """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner"}""")],
                After = [new("post /api/handovers", "",
                    """{"compartment": "ferry-fares", "amount": 20.00, "carrier": "keeper"}""")] },
        new(new("put /api/caution-limits", "", """{"cashAtHome": 500.00, "carried": 100.00}""")) { After =
            [new("put /api/caution-limits", "", "{}")] },
        new(new("post /api/lines/{n}/reversal", "{line}", """{"reason": "Written down twice"}""")) { Before =
            [FerryPaid] },
        new(new("post /api/lines/{n}/amendment", "{line}",
            """{"reason": "Read again", "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 61.00}}""")) { Before = [FerryPaid], After = [new("post /api/lines/{n}/reversal", "{entry+1}", """{"reason": "Written down twice"}""")] },
        new(new("post /api/imports", "", Sheet)) { After =
            [FerryRelabelled, new("patch /api/compartments/{id}", "ferry-fares", """{"closed": true}""")] },
        // A line that the sheet has too is undone afterwards, and the sheet no longer begins with what was brought
        // forward.
        new(new("post /api/imports", "",
            """{"compartment": "ferry-fares", "opening": "broughtForward", "csv": "date,description,amount,balance\n2026-11-02,Pay,60.00,72.40\n2026-11-03,Return,-8.40,64.00\n"}"""))
        {
            Before = [new("post /api/fills", "",
                """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-02", "description": "Pay"}""")],
            After = [new("post /api/fills", "",
                """{"compartment": "ferry-fares", "amount": 90.00, "occurredOn": "2026-10-01"}"""),
                new("post /api/lines/{n}/reversal", "{line}", """{"reason": "Written down twice"}""")],
        },
        new(new("put /api/plan", "",
            """{"from": "2026-W44", "amounts": {"ferry-fares": 25.00, "market-days": 45.00}}""")) { After =
                [new("put /api/plan", "", """{"from": "2026-W44", "amounts": {"ferry-fares": 20.00}}""")] },
        new(new("put /api/set-up", "", """{"plan": {"2026-W44": {"ferry-fares": 30.00}}}""")) { After =
            [new("put /api/plan", "", """{"from": "2026-W44", "amounts": {"ferry-fares": 20.00}}""")] },
        new(new("put /api/income-sources/{id}", "net-mending", Source)) { After =
            [new("delete /api/income-sources/{id}", "net-mending")] },
        new(new("delete /api/income-sources/{id}", "net-mending")) { Before =
            [new("put /api/income-sources/{id}", "net-mending", Source)] },
        new(new("put /api/standing-payments/{id}", "coal", Payment)) { After =
            [new("delete /api/standing-payments/{id}", "coal")] },
        new(new("delete /api/standing-payments/{id}", "coal")) { Before =
            [new("put /api/standing-payments/{id}", "coal", Payment)] },
        new(new("post /api/fill-runs", "", """{"payday": "2026-10-30"}""")) { Before =
            [new("put /api/compartments/{id}/fill-rule", "market-days", Rule)],
            After = [new("post /api/lines/{n}/reversal", "{entry}", """{"reason": "Paid less"}"""),
                new("put /api/compartments/{id}/fill-rule", "market-days", """{"kind": "fixed", "amount": 9.00}""")] },
        new(new("put /api/automatic-fills", "", """{"at": "06:30", "from": "2026-12-01"}""")) { After =
            [new("delete /api/automatic-fills", "")] },
        new(new("delete /api/automatic-fills", "")) { Before =
            [new("put /api/automatic-fills", "", """{"at": "06:30", "from": "2026-12-01"}""")] },
        new(new("post /api/goals", "", Goal)) { After =
            [new("patch /api/goals/{id}", "hull", """{"amount": 300.00}""")] },
        new(new("patch /api/goals/{id}", "hull", """{"amount": 300.00}""")) { Before =
            [new("post /api/goals", "", Goal)], After = [new("delete /api/goals/{id}", "hull")] },
        new(new("delete /api/goals/{id}", "hull")) { Before = [new("post /api/goals", "", Goal)] },
        new(new("put /api/sinking-funds/{id}", "boat-insurance",
            """{"bankPercent": 60, "interestPercent": 2.75}""")) { After =
                [new("put /api/sinking-funds/{id}", "boat-insurance", """{"bankPercent": 10}""")] },
        new(new("put /api/saving-plans/{id}", "rainy-day", Steps)) { After =
            [new("post /api/saving-plans/{id}/steps", "rainy-day", "{}")] },
        new(new("post /api/saving-plans/{id}/steps", "rainy-day", "{}")) { Before =
            [new("put /api/saving-plans/{id}", "rainy-day", Steps)],
            After = [new("post /api/saving-plans/{id}/steps", "rainy-day", "{}")] },
        new(new("post /api/months/{month}/close", "2026-10", """{"reason": "As it stands"}""")) { After =
            [new("post /api/months/{month}/reopen", "2026-10", """{"reason": "Wrong"}""")] },
        new(new("post /api/months/{month}/reopen", "2026-10", """{"reason": "Wrong"}""")) { Before =
            [new("post /api/months/{month}/close", "2026-10", """{"reason": "As it stands"}""")],
            After = [new("post /api/months/{month}/close", "2026-10", """{"reason": "As it stands"}""")] },
        new(new("post /api/clock-corrections", "",
            """{"today": "2026-11-15", "reason": "The year was set wrong"}""")) { Before = [FerryPaid],
                ClockWasAhead = true, After =
                    [new("post /api/lines/{n}/reversal", "{line}", """{"reason": "Written down twice"}""")] },
        new(new("post /api/keys", "",
            """{"name": "payday script", "role": "script", "movements": ["fill"]}""")) { After =
                [new("delete /api/keys/{name}", "payday%20script")] },
        new(new("delete /api/keys/{name}", "wall%20display")) { Before =
            [new("post /api/keys", "", """{"name": "wall display", "role": "viewer"}""")] },
        new(new("delete /api/keys", "") { Query = "?name=wall%20display" }) { Before =
            [new("post /api/keys", "", """{"name": "wall display", "role": "viewer"}""")] },
    ];

    /// <summary>Sends what comes before a request.</summary>
    /// <returns>The book's line then.</returns>
    public static async Task<long> ReadyAsync(this Household household, WritingRequest request)
    {
        foreach (var before in request.Before)
        {
            await household.Keeper.WriteAsync(before, await household.LineAsync());
        }

        var line = await household.LineAsync();
        if (request.ClockWasAhead)
        {
            await household.StampAheadAsync(line);
        }

        return line;
    }

    /// <summary>Sends a request that must be written.</summary>
    public static Task<Reply> WriteAsync(this ApiClient sender, Request request, long line,
        params (string, string)[] headers) => sender.WriteAsync(request, line, 0, headers);

    /// <summary>Sends a request that must be written.</summary>
    public static async Task<Reply> WriteAsync(this ApiClient sender, Request request, long line, long entry,
        params (string, string)[] headers)
    {
        var reply = await sender.SendAsync(request, line, entry, headers);
        Assert.True(reply.Status is >= 200 and < 300, $"{request.Operation}: {reply.Status} {reply.Text}");
        return reply;
    }

    /// <summary>Sends a request.</summary>
    public static Task<Reply> SendAsync(this ApiClient sender, Request request, long line, long entry = 0,
        params (string, string)[] headers)
    {
        string Filled(string text) =>
            text.Replace("{line}", $"{line}").Replace("{previous}", $"{line - 1}").Replace("{entry}", $"{entry}")
                .Replace("{entry+1}", $"{entry + 1}");
        var (method, address) = (request.Operation.Split(' ')[0].ToUpperInvariant(),
            Part().Replace(request.Operation.Split(' ')[1], Filled(request.Part)) + request.Query);
        return sender.SendAsync(method, address, request.Body is null ? null : Filled(request.Body), headers);
    }

    [GeneratedRegex(@"\{\w+\}")]
    private static partial Regex Part();
}
