using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>A key writes the lines that it lists and no others, whichever way they come about.</summary>
public sealed class RightsTests(SharedServer shared)
{
    /// <summary>
    /// Something that can be asked, with the kinds that a key has to list for all the lines that it writes. In its path
    /// <c>LINE</c> stands for the line that was made ready.
    /// </summary>
    private sealed record Way(string Needs, string Path, string Body)
    {
        /// <summary>What is written beforehand; gives the line that the way is about.</summary>
        public Func<Household, Task<long>> Ready { get; init; } = household => household.LineAsync();
    }

    private const string Covered =
        """{"kind": "spend", "compartment": "ferry-fares", "amount": 60.50, "restFrom": "market-days"}""";

    private static readonly Dictionary<string, Way> _ways = new()
    {
        ["fill"] = new("fill", "/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""),
        ["spend"] = new("spend", "/api/spends", """{"compartment": "ferry-fares", "amount": 1.00}"""),
        ["spend of which another compartment pays the rest"] = new("spend transfer", "/api/spends",
            """{"compartment": "ferry-fares", "amount": 60.50, "restFrom": "market-days"}"""),
        ["the same in a batch, together"] = new("spend transfer", "/api/batches", $$"""{"movements": [{{Covered}}]}"""),
        ["the same in a batch, each on its own"] = new("spend transfer", "/api/batches",
            $$"""{"mode": "eachOnItsOwn", "movements": [{"kind": "spend", "compartment": "ferry-fares", "amount": 0.50}, {{Covered}}]}"""),
        ["the same in the stead of a spend"] = new("amendment spend transfer", "/api/lines/LINE/amendment",
            $$"""{"reason": "Read again", "replacement": {{Covered}}}""")
        { Ready = Spend },
        ["refund"] = new("refund", "/api/refunds", """{"compartment": "ferry-fares", "amount": 1.00}"""),
        ["transfer"] = new("transfer", "/api/transfers",
            """{"from": "ferry-fares", "to": "market-days", "amount": 1.00}"""),
        ["sweep"] = new("sweep", "/api/sweeps", """{"from": ["ferry-fares"], "to": "rainy-day"}"""),
        ["exchange"] = new("exchange", "/api/exchanges",
            """{"compartment": "ferry-fares", "with": "market-days", "gives": {"1": 1}, "takes": {"0.50": 2}}"""),
        ["count"] = new("count", "/api/counts", """{"compartment": "ferry-fares", "total": 1.00}"""),
        ["bank statement"] = new("count", "/api/bank-statements", """{"total": 10.00}""") { Ready = InBank },
        ["settlement of a bank statement"] = new("settlement", "/api/bank-statements/LINE/settlement",
            """{"compartment": "rainy-day", "reason": "Interest"}""")
        {
            Ready = async household =>
            {
                await InBank(household);
                return await Written(household, "/api/bank-statements", """{"total": 10.00}""");
            },
        },
        ["settlement"] = new("settlement", "/api/counts/LINE/settlement",
            """{"reason": "Gone"}""")
        {
            Ready =
                async household => await Written(household, "/api/counts",
                    """{"compartment": "ferry-fares", "total": 1.00}""")
        },
        ["settlement by an explanation that reverses"] = new("settlement reversal", "/api/counts/LINE/settlement",
            """{"explanation": "recordedTwice-14"}""")
        {
            Ready = async household =>
            {
                await household.SpendAsync("ferry-fares", "7.10", on: "2026-11-12", description: "Bus");
                await household.SpendAsync("ferry-fares", "7.10", on: "2026-11-12", description: "Bus");
                return await Written(household, "/api/counts", """{"compartment": "ferry-fares", "total": 52.90}""");
            },
        },
        ["settlement by an explanation that amends"] = new("settlement amendment spend", "/api/counts/LINE/settlement",
            """{"explanation": "transposed-13-890"}""")
        {
            Ready = async household =>
            {
                await household.SpendAsync("ferry-fares", "9.80", on: "2026-11-12", description: "Bicycle");
                return await Written(household, "/api/counts", """{"compartment": "ferry-fares", "total": 51.10}""");
            },
        },
        ["settlement by an explanation that turns a line round"] = new("settlement amendment spend refund",
            "/api/counts/LINE/settlement", """{"explanation": "wrongDirection-13-refund"}""")
        {
            Ready = async household =>
            {
                await household.SpendAsync("ferry-fares", "2.35", on: "2026-11-12", description: "Ticket taken back");
                return await Written(household, "/api/counts", """{"compartment": "ferry-fares", "total": 62.35}""");
            },
        },
        ["reversal"] = new("reversal", "/api/lines/LINE/reversal", """{"reason": "Twice"}""") { Ready = Spend },
        ["spend in the stead of a spend"] = new("amendment spend", "/api/lines/LINE/amendment",
            """{"reason": "Read again", "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 8.90}}""")
        { Ready = Spend },
        ["fill in the stead of a spend"] = new("amendment spend fill", "/api/lines/LINE/amendment",
            """{"reason": "Read again", "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 100.00}}""")
        { Ready = Spend },
        ["transfer in the stead of a fill"] = new("amendment fill transfer", "/api/lines/LINE/amendment",
            """{"reason": "Read again", "replacement": {"kind": "transfer", "from": "market-days", "to": "ferry-fares", "amount": 2.00}}""")
        { Ready = async household => (await household.FillAsync("ferry-fares", "2.00")).Lines[0] },
        ["sweep in the stead of a transfer"] = new("amendment transfer sweep", "/api/lines/LINE/amendment",
            """{"reason": "Read again", "replacement": {"kind": "sweep", "from": ["market-days"], "to": "rainy-day"}}""")
        {
            Ready = async household =>
            await Written(household, "/api/transfers",
                """{"from": "market-days", "to": "rainy-day", "amount": 1.00}""")
        },
        ["refund in the stead of what a reversal undid"] = new("amendment refund", "/api/lines/LINE/amendment",
            """{"reason": "Read again", "replacement": {"kind": "refund", "compartment": "ferry-fares", "amount": 2.00}}""")
        {
            Ready = async household =>
            await Written(household, $"/api/lines/{await Spend(household)}/reversal", """{"reason": "Twice"}""")
        },
        ["import of a fill, a spend and a refund"] = new("fill spend refund", "/api/imports",
            """{"compartment": "bakery-van", "csv": "date,description,amount,balance,kind\n2026-11-02,Pay,6.00,6.00,fill\n2026-11-03,Bread,-2.00,4.00,spend\n2026-11-04,Stale,1.00,5.00,refund\n"}"""),
        ["import that brings money forward"] = new("fill spend", "/api/imports",
            """{"compartment": "bakery-van", "opening": "broughtForward", "csv": "date,description,amount,balance\n2026-11-03,Bread,-2.00,4.00\n"}"""),
        ["saving step"] = new("fill", "/api/saving-plans/rainy-day/steps",
            "{}")
        {
            Ready = async household =>
                (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", """{"first": 1.00, "count": 2}"""))
                    .MustBe(200).Lines[0]
        },
        ["saving step out of a compartment"] = new("transfer", "/api/saving-plans/rainy-day/steps",
            """{"from": "market-days", "number": 2}""")
        {
            Ready =
                async household => (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
                    """{"first": 1.00, "count": 2}""")).MustBe(200).Lines[0]
        },
        ["notes set aside"] = new("transfer", "/api/counts/LINE/set-aside",
            """{"denomination": 5.00, "to": "rainy-day"}""")
        {
            Ready =
                async household => await Written(household, "/api/counts",
                    """{"compartment": "market-days", "denominations": {"5": 8}}""")
        },
        ["fill run"] = new("fill", "/api/fill-runs", """{"payday": "2026-10-30"}""")
        {
            Ready = async household =>
            {
                await (await household.PaidMonthlyAsync())
                    .RuleAsync("ferry-fares", """{"kind": "fixed", "amount": 40.00}""");
                return await household.LineAsync();
            },
        },
        ["handover"] = new("handover", "/api/handovers",
            """{"compartment": "ferry-fares", "amount": 15.00, "carrier": "keeper"}"""),
        ["return of a handover"] = new("handover count", "/api/handovers/LINE/return",
            """{"total": 60.00}""")
        {
            Ready =
                async household => await Written(household, "/api/handovers",
                    """{"compartment": "ferry-fares", "amount": 15.00}""")
        },
        ["count round"] = new("count", "/api/count-rounds", "{}"),
        ["figure of a round"] = new("count", "/api/count-rounds/LINE/counts",
            """{"compartment": "ferry-fares", "total": 60.00}""")
        { Ready = Round },
        ["confirmation of a figure"] = new("count", "/api/count-rounds/LINE/confirmations", "{}")
        {
            Ready = async household =>
            {
                var round = await Round(household);
                await Written(household, $"/api/count-rounds/{round}/counts",
                    """{"compartment": "ferry-fares", "total": 60.00}""");
                return round;
            },
        },
        ["end of a round"] = new("count", "/api/count-rounds/LINE/close",
            """{"reason": "At the harbour"}""")
        { Ready = Round },
    };

    public static TheoryData<string> Ways => [.. _ways.Keys];

    [Theory]
    [MemberData(nameof(Ways))]
    public async Task A_key_that_lacks_a_kind_of_line_writes_none(string way)
    {
        var (needs, path, body) = _ways[way];
        var household = await HouseholdAsync();
        var line = await _ways[way].Ready(household);
        var lacking = new List<ApiClient> { await household.IssueAsync("wall display", "viewer") };
        foreach (var kind in needs.Split(' '))
        {
            var others = Enum.GetNames<MovementKind>().Select(k => k.ToLowerInvariant()).Where(k => k != kind);
            lacking.Add(await household.IssueAsync($"all but {kind}", "script", Listed(others)));
        }

        foreach (var key in lacking)
        {
            (await household.WithoutWritingAsync(_ => key.PostAsync(path.Replace("LINE", $"{line}"), body)))
                .MustBeProblem(403, "not-allowed");
        }
    }

    [Theory]
    [MemberData(nameof(Ways))]
    public async Task A_key_that_lists_every_kind_of_line_writes_them_as_a_member_and_a_keeper_do(string way)
    {
        foreach (var (role, movements) in new[] { ("keeper", "null"), ("member", "null"),
            ("script", Listed(_ways[way].Needs.Split(' '))) })
        {
            var household = await HouseholdAsync();
            var line = await _ways[way].Ready(household);
            var key = await household.IssueAsync("holder", role, movements);
            var before = await household.LineAsync();

            var reply = await key.PostAsync(_ways[way].Path.Replace("LINE", $"{line}"), _ways[way].Body);

            Assert.True(reply.Status is 200 or 201, $"{role}: {reply.Status} {reply.Text}");
            Assert.All(await household.LinesAsync($"after={before}"),
                written => Assert.Equal("holder", written.GetProperty("by").GetString()));
            Assert.True(await household.LineAsync() > before);
        }
    }

    [Fact]
    public async Task Any_key_may_rehearse_what_it_may_not_write()
    {
        var household = await HouseholdAsync();
        var spend = await Spend(household);
        var viewer = await household.IssueAsync("wall display", "viewer");

        (await household.WithoutWritingAsync(_ => viewer.PostAsync("/api/rehearsals",
            $$"""{"suppose": [{"record": {{Covered}}}, {"amend": {{spend}}, "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 1.00} }]}"""))).MustBe(200);
    }

    [Fact]
    public async Task What_a_batch_may_not_write_takes_the_rest_along_in_either_mode()
    {
        var household = await HouseholdAsync();
        var script = await household.IssueAsync("bus", "script", """["spend"]""");

        foreach (var mode in new[] { "allOrNothing", "eachOnItsOwn" })
        {
            var refused = await household.WithoutWritingAsync(_ => script.PostAsync("/api/batches",
                $$"""{"mode": "{{mode}}", "movements": [{"kind": "spend", "idempotencyKey": "ticket", "compartment": "ferry-fares", "amount": 0.50}, {{Covered}}]}"""));

            Assert.Contains("may write spend, not transfer", refused.MustBlame(403, "not-allowed", "movements[1]"));
        }

        // Its key was not used up.
        (await script.PostAsync("/api/spends", """{"compartment": "ferry-fares", "amount": 0.75}""",
            ("Idempotency-Key", "ticket"))).MustBe(201);
    }

    [Theory]
    [InlineData("keeper", "partner", 201)]
    [InlineData("keeper", "the little one", 201)]
    [InlineData("member", "keeper", 201)]
    [InlineData("member", null, 201)]
    [InlineData("member", "the little one", 422)]
    [InlineData("member", "partner", 422)]
    [InlineData("script", "Keeper", 201)]
    [InlineData("script", "nobody", 422)]
    public async Task Cash_is_handed_to_who_holds_a_key_and_to_others_by_a_keeper_alone(string role, string? carrier,
        int status)
    {
        var household = await HouseholdAsync();
        await household.IssueAsync("partner", "member");
        (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);
        var key = await household.IssueAsync("holder", role, role == "script" ? """["handover"]""" : "null");
        var before = await household.LineAsync();

        var named = carrier is null ? "" : $", \"carrier\": \"{carrier}\"";
        var reply = await key.PostAsync("/api/handovers",
            "{\"compartment\": \"ferry-fares\", \"amount\": 15.00" + named + "}");

        reply.MustBe(status);
        Assert.Equal(status == 201 ? before + 1 : before, await household.LineAsync());
        if (status == 422)
        {
            reply.MustBlame(422, "carrier-unknown", "carrier");
        }
    }

    [Fact]
    public async Task Every_kind_of_line_is_for_keepers_unless_it_says_which_movement_it_is()
    {
        string[] forOthers =
        [
            "bankStatement", "bankStatementSettlement", "count", "countRound", "countRoundClosed", "countsConfirmed",
            "exchange", "fill", "fillRun", "handover", "handoverReturned", "refund", "reversal", "settlement", "spend",
            "sweep", "transfer",
        ];
        var household = await EveryKind.WrittenAsync(shared);
        var reader = household.Server.Services.GetService(typeof(LineReader)) as LineReader;
        var written = new Dictionary<string, IBookEvent>();
        for (var line = 1L; line <= await household.LineAsync(); line++)
        {
            var said = (await reader!.FindAsync(household.Id, line, TestContext.Current.CancellationToken))!.Event;
            written[LineKinds.Of(said)] = said;
        }

        Assert.Equal(LineKinds.Names.Values.Order(), written.Keys.Order());
        Assert.Equal(forOthers, written.Where(w => IsForMembers(w.Value)).Select(w => w.Key)
            .Order(StringComparer.Ordinal));
    }

    private static bool IsForMembers(IBookEvent line)
    {
        try
        {
            new Key("partner", Role.Member, [], "", 1).MustBeAllowed([line]);
            return true;
        }
        catch (RefusalException)
        {
            return false;
        }
    }

    private async Task<Household> HouseholdAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("market-days", "100.00");
        return household;
    }

    private static async Task<long> Written(Household household, string path, string body) =>
        (await household.Keeper.PostAsync(path, body)).MustBe(201).Lines[0];

    private static async Task<long> Spend(Household household) =>
        (await household.SpendAsync("ferry-fares", "8.40")).Lines[0];

    private static async Task<long> InBank(Household household) =>
        (await household.FillAsync("rainy-day", "9.00", holding: "bank")).Lines[0];

    private static Task<long> Round(Household household) => Written(household, "/api/count-rounds", "{}");

    private static string Listed(IEnumerable<string> movements) =>
        $"[{string.Join(", ", movements.Select(m => $"\"{m}\""))}]";
}
