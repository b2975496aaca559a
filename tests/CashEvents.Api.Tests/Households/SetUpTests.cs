using System.Text.Json.Nodes;
using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>A whole household in one request, and the same as a file to keep and to copy.</summary>
public sealed class SetUpTests(SharedServer shared)
{
    private const string File = """
        {"household": {"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "monday", "country": "IE", "smallestNote": 5.00, "largestNote": 50.00},
         "wallets": {"oilskin-wallet": {"label": "Oilskin wallet"}, "desk-drawer": {"label": "Drawer of the desk"}},
         "compartments": {
           "ferry-fares": {"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"},
           "market-days": {"label": "Days at the market", "wallet": "oilskin-wallet", "purpose": "spending"},
           "boat-insurance": {"label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund"},
           "rainy-day": {"label": "Rainy day", "wallet": "desk-drawer", "purpose": "saving"}},
         "plan": {"2026-W44": {"ferry-fares": 25.00, "market-days": 45.00}, "2026-W49": {"ferry-fares": 30.00}},
         "incomeSources": {
           "harbour-office": {"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400.00},
           "net-mending": {"label": "Net mending", "rule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=FR", "first": "2026-09-04", "notBankDay": "next"}},
         "standingPayments": {"quay-rent": {"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640.00}},
         "fillRules": {
           "ferry-fares": {"kind": "weekly", "holding": "cash", "rank": 2, "roundTo": 5.00},
           "boat-insurance": {"kind": "contribution", "rank": 1},
           "rainy-day": {"kind": "share", "share": 12.5, "ceiling": 600.00, "holding": "bank", "rank": 3}},
         "goals": {
           "hull-insurance": {"compartment": "boat-insurance", "label": "Hull insurance", "amount": 480.00, "due": "2027-04-01", "every": "P1Y", "amounts": {"2028-04-01": 520.00}},
           "paint": {"compartment": "boat-insurance", "label": "Paint for the hull", "amount": 90.00, "due": "2027-03-01"}},
         "fundTerms": {"boat-insurance": {"bankPercent": 60, "interestPercent": 1.25}},
         "savingPlans": {"rainy-day": {"first": 1.00, "growth": 0.50, "count": 52, "seed": 7, "from": "2026-12-04", "every": "P2W"}},
         "noteWishes": {"ferry-fares": {"prefer": [10.00, 5.00], "avoid": [50.00], "atLeast": {"5.00": 4}}, "market-days": {"atLeast": {"0.50": 6}}},
         "places": {"kitchen-safe": {"label": "Safe in the kitchen", "wallets": ["desk-drawer"], "atHome": true}, "with-the-harbour-master": {"label": "Harbour master", "wallets": [], "atHome": false}},
         "cautionLimits": {"cashAtHome": 500.00},
         "automaticFills": {"at": "06:30", "from": "2026-12-01", "daysAfter": 1}}
        """;

    [Fact]
    public async Task An_empty_book_is_set_up_in_one_entry_and_what_is_read_back_is_the_file()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.GetAsync("/api/set-up")).MustBe(200).MustSay("{}");

        var dry = (await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/set-up?dryRun=true", File))).MustBe(200);
        var written = (await household.Keeper.PutAsync("/api/set-up", File)).MustBe(200);

        var lines = (await household.LinesAsync()).Where(l => l.GetProperty("line").GetInt64() > 2).ToList();
        Assert.All(lines, line => Assert.Equal(3, line.GetProperty("entryId").GetInt64()));
        Assert.Equal(written.Lines, lines.Select(l => l.GetProperty("line").GetInt64()));
        Assert.Equal(dry.Json.GetProperty("wouldWrite").EnumerateArray().Select(Said), lines.Select(Said));
        (await household.Keeper.GetAsync("/api/set-up")).MustBe(200).MustSay(File);

        static string Said(System.Text.Json.JsonElement line)
        {
            var said = JsonNode.Parse(line.GetRawText())!.AsObject();
            said.Remove("recordedAt");
            said.Remove("hash");
            return said.ToJsonString();
        }
    }

    [Fact]
    public async Task What_was_read_changes_nothing_where_it_came_from_and_sets_another_household_up_alike()
    {
        var ours = await LivedInAsync();
        var file = (await ours.Keeper.GetAsync("/api/set-up")).MustBe(200).Text;
        var theirs = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var same = await ours.WithoutWritingAsync(keeper => keeper.PutAsync("/api/set-up", file));
        (await theirs.Keeper.PutAsync("/api/set-up", file)).MustBe(200);

        Assert.Equal("It is set up like this already. Nothing was written.",
            same.MustBe(200).Json.GetProperty("note").GetString());
        (await theirs.Keeper.GetAsync("/api/set-up")).MustBe(200).MustSay(file);
        await theirs.WithoutWritingAsync(async keeper => (await keeper.PutAsync("/api/set-up", file)).MustBe(200));
    }

    [Fact]
    public async Task What_a_part_does_not_name_goes_and_a_part_that_is_left_out_stays()
    {
        var household = await SetUpAsync();
        var file = JsonNode.Parse(File)!.AsObject();
        file.Remove("standingPayments");
        file["compartments"]!.AsObject().Remove("rainy-day");
        file["fillRules"]!.AsObject().Remove("rainy-day");
        file["savingPlans"]!.AsObject().Remove("rainy-day");
        file["incomeSources"]!.AsObject().Remove("net-mending");
        file["goals"]!["paint"]!["amount"] = 95.00m;
        file["goals"]!["hull-insurance"]!.AsObject().Remove("every");
        file["goals"]!["hull-insurance"]!.AsObject().Remove("amounts");

        var written = (await household.Keeper.PutAsync("/api/set-up", file.ToJsonString())).MustBe(200);

        var kinds = (await household.LinesAsync($"after={written.Lines[0] - 1}")).Select(l =>
            l.GetProperty("kind").GetString()!).Order();
        Assert.Equal(["compartmentClosed", "fillRuleRemoved", "goal", "goal", "goalRemoved", "incomeSourceEnded"],
            kinds.Select(k => k == "goalSet" ? "goal" : k));
        var after = JsonNode.Parse((await household.Keeper.GetAsync("/api/set-up")).Text)!.AsObject();
        Assert.True(after["standingPayments"]!.AsObject().ContainsKey("quay-rent"));
        after.Remove("standingPayments");
        new Reply(200, after.ToJsonString(), null, null, new Dictionary<string, string>()).MustSay(file.ToJsonString());
    }

    [Theory]
    [InlineData("compartments", "ferry-fares", null, 409, "compartment-not-empty", "compartments.closed")]
    [InlineData("compartments", "rainy-day", """{"label": "Rainy day", "wallet": "sea-chest", "purpose": "saving"}""",
        422, "wallet-unknown", "compartments.rainy-day.wallet")]
    [InlineData("compartments", "rainy-day", """{"label": "Rainy day", "wallet": "desk-drawer", "purpose": "spending"}""",
        409, "purpose-fixed", "compartments.rainy-day.purpose")]
    [InlineData("compartments", "rainy-day", """{"label": "Rainy day"}""", 400, "malformed",
        "compartments.rainy-day.wallet")]
    [InlineData("wallets", "Sea Chest", """{"label": "Sea chest"}""", 422, "id-unreadable", "wallets.Sea Chest")]
    [InlineData("wallets", "desk-drawer", "null", 400, "malformed", "wallets.desk-drawer")]
    [InlineData("incomeSources", "net-mending",
        """{"label": "Net mending", "rule": "FREQ=SOMETIMES", "first": "2026-09-04", "notBankDay": "next"}""", 422,
        "rule-unreadable", "incomeSources.net-mending.rule")]
    [InlineData("plan", "2026-W50", """{"rainy-day": 1.00}""", 422, "compartment-not-for-spending",
        "plan.2026-W50.amounts.rainy-day")]
    [InlineData("fillRules", "market-days", """{"kind": "fixed"}""", 422, "amount-missing",
        "fillRules.market-days.amount")]
    [InlineData("fundTerms", "ferry-fares", """{"bankPercent": 10}""", 422, "compartment-not-a-sinking-fund",
        "fundTerms.ferry-fares.compartment")]
    [InlineData("fundTerms", "boat-insurance", """{"interestPercent": 1}""", 400, "malformed",
        "fundTerms.boat-insurance.bankPercent")]
    [InlineData("savingPlans", "rainy-day", """{"first": 1.00, "count": 401}""", 422, "steps-out-of-range",
        "savingPlans.rainy-day.count")]
    [InlineData("noteWishes", "market-days", """{"prefer": [5], "avoid": [5]}""", 422, "wishes-contradict",
        "noteWishes.market-days.avoid")]
    [InlineData("places", "attic", """{"label": "Attic", "wallets": ["desk-drawer"]}""", 422, "wallet-twice",
        "places.attic.wallets[0]")]
    [InlineData("places", "attic", """{"label": "Attic", "wallets": ["sea-chest"]}""", 422, "wallet-unknown",
        "places.attic.wallets[0]")]
    [InlineData("goals", "paint", """{"compartment": "boat-insurance", "label": "Paint", "amount": 90.00, "due": "2026-01-01"}""",
        422, "due-before-today", "goals.paint.due")]
    public async Task One_part_that_can_not_be_and_nothing_is_written(string part, string id, string? item, int status,
        string code, string field)
    {
        var household = await SetUpAsync();
        await household.FillAsync("ferry-fares", "60.00");
        var file = JsonNode.Parse(File)!.AsObject();
        file["household"]!["name"] = "Harbour Row 2";
        if (item is null)
        {
            file[part]!.AsObject().Remove(id);
            file["fillRules"]!.AsObject().Remove(id);
            file.Remove("plan");
        }
        else
        {
            file[part]![id] = JsonNode.Parse(item);
        }

        foreach (var address in new[] { "/api/set-up", "/api/set-up?dryRun=true" })
        {
            (await household.WithoutWritingAsync(keeper => keeper.PutAsync(address, file.ToJsonString())))
                .MustBlame(status, code, field);
        }
    }

    [Fact]
    public async Task Places_wishes_and_terms_that_are_not_named_go_and_saving_plans_stay()
    {
        var household = await SetUpAsync();
        (await household.Keeper.PostAsync("/api/saving-plans/rainy-day/steps", "{}")).MustBe(201);
        var file = JsonNode.Parse(File)!.AsObject();
        file["fundTerms"] = new JsonObject();
        file["savingPlans"] = new JsonObject();
        file["noteWishes"]!.AsObject().Remove("market-days");
        file["places"]!.AsObject().Remove("kitchen-safe");
        file["places"]!["with-the-harbour-master"]!["wallets"]!.AsArray().Add("oilskin-wallet");
        file["cautionLimits"] = new JsonObject();
        file.Remove("automaticFills");

        var written = (await household.Keeper.PutAsync("/api/set-up", file.ToJsonString())).MustBe(200);

        Assert.Equal(["cautionLimits", "fundTerms", "noteWishes", "place", "place", "placeRemoved"],
            (await household.LinesAsync($"after={written.Lines[0] - 1}")).Select(l =>
                l.GetProperty("kind").GetString()!).Order());
        file["savingPlans"] = JsonNode.Parse(File)!["savingPlans"]!.DeepClone();
        file["automaticFills"] = JsonNode.Parse(File)!["automaticFills"]!.DeepClone();
        file.Remove("fundTerms");
        var after = JsonNode.Parse((await household.Keeper.GetAsync("/api/set-up")).Text)!.AsObject();
        Assert.Empty(after["fundTerms"]!.AsObject());
        after.Remove("fundTerms");
        new Reply(200, after.ToJsonString(), null, null, new Dictionary<string, string>()).MustSay(file.ToJsonString());
        Assert.Equal(1, (await household.Keeper.GetAsync("/api/saving-plans/rainy-day")).MustBe(200).Json
            .GetProperty("stepsDone").GetInt32());
    }

    [Theory]
    [InlineData("2026-12-01", "2026-12-01")]
    [InlineData("2026-09-01", "2026-11-15")]
    public async Task A_file_whose_automatic_fills_began_long_ago_fills_from_today_on(string from, string fillsFrom)
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        var file = File.Replace("\"from\": \"2026-12-01\"", $"\"from\": \"{from}\"");

        (await household.Keeper.PutAsync("/api/set-up", file)).MustBe(200);

        Assert.Equal(fillsFrom, (await household.Keeper.GetAsync("/api/set-up")).MustBe(200).Json
            .GetProperty("automaticFills").GetProperty("from").GetString());
        await household.WithoutWritingAsync(async keeper => (await keeper.PutAsync("/api/set-up", file)).MustBe(200));
    }

    [Fact]
    public async Task Only_the_keeper_sets_up_and_everybody_reads()
    {
        var household = await SetUpAsync();
        var partner = await household.IssueAsync("partner", "member");

        (await household.WithoutWritingAsync(_ => partner.PutAsync("/api/set-up", File)))
            .MustBeProblem(403, "not-allowed");
        (await partner.GetAsync("/api/set-up")).MustBe(200).MustSay(File);
        (await household.Keeper.PutAsync("/api/set-up?dryrun=true", File)).MustBlame(400, "malformed", "dryrun");
        (await household.Keeper.PutAsync("/api/set-up?dryRun=yes", File)).MustBlame(400, "malformed", "dryRun");
    }

    // A household in which months were closed, bills paid, and things relabelled and taken out of use.
    private async Task<Household> LivedInAsync()
    {
        var household = await SetUpAsync();
        var keeper = household.Keeper;
        await household.FillAsync("ferry-fares", "60.00", "2026-10-30");
        await household.FillAsync("boat-insurance", "600.00", "2026-10-30");
        (await keeper.PostAsync("/api/spends",
            """{"compartment": "boat-insurance", "amount": 480.00, "occurredOn": "2026-11-03", "goal": "hull-insurance"}"""))
            .MustBe(201);
        (await keeper.PostAsync("/api/spends",
            """{"compartment": "boat-insurance", "amount": 90.00, "occurredOn": "2026-11-03", "goal": "paint"}"""))
            .MustBe(201);
        (await keeper.PatchAsync("/api/wallets/oilskin-wallet", """{"label": "Red wallet"}""")).MustBe(200);
        (await keeper.PatchAsync("/api/compartments/market-days", """{"closed": true}""")).MustBe(200);
        (await keeper.PostAsync("/api/months/2026-10/close", """{"reason": "Counted on paper"}""")).MustBe(201);
        return household;
    }

    private async Task<Household> SetUpAsync()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.PutAsync("/api/set-up", File)).MustBe(200);
        return household;
    }
}
