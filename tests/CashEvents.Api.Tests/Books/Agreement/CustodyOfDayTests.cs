using System.Globalization;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// Who held what on a day, and who the book said did at a line or an instant: against slips of paper kept by hand.
/// </summary>
public sealed class CustodyOfDayTests
{
    private static readonly string[] _compartments = ["ferry-fares", "market-days", "rainy-day"];
    private static readonly string[] _places = ["kitchen-safe", "boat-locker"];

    [ThoroughFact]
    public async Task Custody_of_any_day_at_any_line_agrees_with_the_slips_kept_by_hand()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var random = new Random(seed);
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var partner = await household.IssueAsync("partner", "member");
        var seen = new HashSet<string>();
        for (var i = 0; i < 240; i++)
        {
            await SendAsync(household, random.Next(2) == 0 ? household.Keeper : partner, random,
                await household.LinesAsync("limit=1000"), seen);
            if (random.Next(6) == 0)
            {
                server.Clock.Advance(TimeSpan.FromHours(random.Next(1, 30)));
            }
        }

        Assert.Equal(["fill", "handover", "handoverReturned", "place", "placeRemoved", "refund", "reversal",
            "settlement", "spend", "transfer"],
            seen.Where(kind => kind is not "count").Order(StringComparer.Ordinal));
        var lines = await household.LinesAsync();
        var carried = 0;
        for (var i = 0; i < 80; i++)
        {
            var atLine = random.Next(3) == 0 ? lines.Count : random.Next(Household.SetUpLines + 1, lines.Count + 1);
            var on = random.Next(4) == 0 ? default(DateOnly?) : new DateOnly(2026, 11, 1).AddDays(random.Next(40));
            var custody = (await household.Keeper.GetAsync("/api/custody" + Query(random, lines, atLine, on)))
                .MustBe(200).Json;

            Assert.Equal(ByHand(lines.Take(atLine), on ?? DateOnly.MaxValue), Told(custody));
            Assert.Equal(atLine, custody.GetProperty("bookLine").GetInt32());
            Assert.True(on is null || custody.GetProperty("day").GetString() == $"{on:yyyy-MM-dd}");
            carried += custody.GetProperty("carried").GetArrayLength();
        }

        Assert.True(carried > 10, "Hardly anybody carried anything.");
    }

    [ThoroughFact]
    public async Task A_handover_is_told_of_the_days_on_which_it_was_out()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        (await household.Keeper.PutAsync("/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""")).MustBe(200);
        await household.FillAsync("ferry-fares", "64.00", on: "2026-11-02");
        var handover = (await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner", "occurredOn": "2026-11-04"}"""))
            .MustBe(201).Lines[0];
        (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "carried": true, "occurredOn": "2026-11-06"}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync($"/api/handovers/{handover}/return",
            """{"total": 55.60, "occurredOn": "2026-11-08"}""")).MustBe(201);

        async Task<string> OnAsync(string query)
        {
            var custody = (await household.Keeper.GetAsync($"/api/custody?{query}")).MustBe(200).Json;
            var days = custody.GetProperty("carried").EnumerateArray().Select(c => c.GetProperty("days"));
            return $"{custody.GetProperty("cashAtHome")} {custody.GetProperty("cashCarried")} {string.Join(' ', days)}"
                .TrimEnd();
        }

        Assert.Equal("0.00 0.00", await OnAsync("on=2026-11-01"));
        Assert.Equal("64.00 0.00", await OnAsync("on=2026-11-03"));
        Assert.Equal("24.00 40.00 0", await OnAsync("on=2026-11-04"));
        Assert.Equal("24.00 31.60 3", await OnAsync("on=2026-11-07"));
        Assert.Equal("55.60 0.00", await OnAsync("on=2026-11-08"));
        Assert.Equal("24.00 40.00 3", await OnAsync($"on=2026-11-07&atLine={handover}"));
        // It was said to lie there on the 15th, so of days before nobody said.
        Assert.False((await household.Keeper.GetAsync("/api/custody?on=2026-11-07")).Json.GetProperty("places")[0]
            .TryGetProperty("place", out _));
        Assert.Equal("kitchen-safe",
            (await household.Keeper.GetAsync("/api/custody?on=2026-11-15")).Json.GetProperty("places")[0]
                .GetProperty("place").GetString());
        (await household.Keeper.GetAsync("/api/custody?at=2020-01-01T00:00:00Z")).MustBeProblem(404, "book-not-begun");
        (await household.Keeper.GetAsync("/api/custody?on=2026-11")).MustBlame(400, "malformed", "on");
    }

    [ThoroughFact]
    public async Task What_is_closed_or_given_up_now_is_told_of_the_days_on_which_it_held_something()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        (await household.Keeper.PutAsync("/api/places/boat-locker",
            """{"label": "Boat locker", "atHome": false, "wallets": ["oilskin-wallet"]}""")).MustBe(200);
        await household.FillAsync("bakery-van", "5.00", on: "2026-11-15");
        server.Clock.Advance(TimeSpan.FromDays(2));
        await household.SpendAsync("bakery-van", "5.00", on: "2026-11-16");
        (await household.Keeper.PatchAsync("/api/compartments/bakery-van", """{"closed": true}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/places/boat-locker",
            """{"label": "Boat locker", "atHome": false, "wallets": []}""")).MustBe(200);
        (await household.Keeper.DeleteAsync("/api/places/boat-locker")).MustBe(204);

        var then = (await household.Keeper.GetAsync("/api/custody?on=2026-11-15")).MustBe(200).Json;

        Assert.Equal("5.00", then.GetProperty("cashElsewhere").GetRawText());
        Assert.Equal("boat-locker", then.GetProperty("places")[0].GetProperty("place").GetString());
        Assert.DoesNotContain("bakery-van", (await household.Keeper.GetAsync("/api/custody")).MustBe(200).Text);
    }

    private static async Task SendAsync(Household household, ApiClient by, Random random, List<JsonElement> lines,
        HashSet<string> seen)
    {
        string Pick(string[] of) => of[random.Next(of.Length)];
        var (compartment, other) = (Pick(_compartments), Pick(_compartments));
        var amount = (random.Next(1, 4000) / 100m).ToString("0.00", CultureInfo.InvariantCulture);
        var day = $"\"occurredOn\": \"{new DateOnly(2026, 11, random.Next(1, 16)):yyyy-MM-dd}\"";
        var meant = random.Next(3) switch { 0 => "", 1 => ", \"carried\": true", _ => ", \"carried\": false" };
        long Last(string kind) =>
            lines.LastOrDefault(l => l.GetProperty("kind").GetString()
                == kind) is { ValueKind: JsonValueKind.Object } line ? line.GetProperty("line").GetInt64() : 1;
        var reply = random.Next(16) switch
        {
            <= 2 => await by.PostAsync("/api/fills",
                $$"""{"compartment": "{{compartment}}", "amount": {{amount}}, {{day}}}"""),
            <= 5 => await by.PostAsync("/api/spends",
                $$"""{"compartment": "{{compartment}}", "amount": {{amount}}, {{day}}{{meant}}}"""),
            6 => await by.PostAsync("/api/refunds",
                $$"""{"compartment": "{{compartment}}", "amount": {{amount}}, {{day}}{{meant}}}"""),
            7 => await by.PostAsync("/api/transfers",
                $$"""{"from": "{{compartment}}", "to": "{{other}}", "amount": {{amount}}, {{day}}{{meant}}}"""),
            8 or 9 => await by.PostAsync("/api/handovers",
                $$"""{"compartment": "{{compartment}}", {{(random.Next(2) == 0 ? $"\"amount\": {amount}, " : "")}}{{day}}}"""),
            10 or 11 => await by.PostAsync($"/api/handovers/{Last("handover")}/return",
                $$"""{"total": {{amount}}, {{day}}}"""),
            12 => await by.PostAsync($"/api/counts/{Last("count")}/settlement", """{"reason": "Looked everywhere"}"""),
            13 => await by.PostAsync(
                $"/api/lines/{lines[^random.Next(1, Math.Min(20, lines.Count))].GetProperty("line")}/reversal",
                """{"reason": "Twice"}"""),
            14 => await household.Keeper.PutAsync($"/api/places/{Pick(_places)}",
                $$"""{"label": "Put there", "wallets": [{{Pick(["", "\"oilskin-wallet\"", "\"desk-drawer\"", "\"oilskin-wallet\", \"desk-drawer\""])}}]}"""),
            _ => await household.Keeper.DeleteAsync($"/api/places/{Pick(_places)}"),
        };
        Assert.True(reply.Status is 200 or 201 or 204 or 404 or 409 or 422 or 400, reply.Text);
        if (reply.Status < 300)
        {
            seen.UnionWith((await household.LinesAsync($"after={lines.Count}"))
                .Select(l => l.GetProperty("kind").GetString()!));
        }
    }

    private static string Query(Random random, List<JsonElement> lines, int atLine, DateOnly? on)
    {
        var recorded = lines[atLine - 1].GetProperty("recordedAt").GetDateTimeOffset();
        var isLastThen = atLine == lines.Count
            || lines[atLine].GetProperty("recordedAt").GetDateTimeOffset() > recorded;
        var read = isLastThen && random.Next(2) == 0
            ? $"at={recorded.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'}"
            : atLine < lines.Count ? $"atLine={atLine}" : "";
        return "?" + string.Join('&',
            new[] { read, on is { } day ? $"on={day:yyyy-MM-dd}" : "" }.Where(p => p.Length > 0));
    }

    private sealed class Slip
    {
        public required long Id { get; init; }

        public required string Carrier { get; init; }

        public required string Since { get; init; }

        public decimal Amount { get; set; }
    }

    // A slip for each handover: what was taken, less what was paid from it; what is not there any more nobody carries.
    // A line that was undone was never written.
    private static string ByHand(IEnumerable<JsonElement> written, DateOnly day)
    {
        var lines = written.Where(
            l => !l.TryGetProperty("occurredOn", out var on)
                || DateOnly.Parse(on.GetString()!, CultureInfo.InvariantCulture) <= day).ToList();
        var undone = lines.Where(l => l.TryGetProperty("reverses", out _))
            .Select(l => l.GetProperty("reverses").GetInt64()).ToHashSet();
        var cash = _compartments.ToDictionary(c => c, _ => 0m);
        var slips = new Dictionary<string, Slip>();
        var lies = new Dictionary<string, string>();
        foreach (var line in lines)
        {
            string Text(string field) => line.GetProperty(field).GetString()!;
            if (Text("kind") == "reversal" || undone.Contains(line.GetProperty("line").GetInt64()))
            {
                continue;
            }

            switch (Text("kind"))
            {
                case "handover":
                    slips[Text("compartment")] = new Slip
                    {
                        Id = line.GetProperty("line").GetInt64(),
                        Carrier = Text("carrier"),
                        Since = Text("occurredOn"),
                        Amount = Within(line.GetProperty("amount").GetDecimal(), cash[Text("compartment")])
                    };
                    continue;
                case "handoverReturned" when slips.TryGetValue(Text("compartment"), out var back)
                    && back.Id == line.GetProperty("handover").GetInt64():
                    slips.Remove(Text("compartment"));
                    continue;
                case "place" when DateOnly.Parse(Text("since"), CultureInfo.InvariantCulture) <= day:
                    var named = line.GetProperty("wallets").EnumerateArray().Select(w => w.GetString()!).ToHashSet();
                    lies = lies.Where(l => l.Value.Split(' ')[0] != Text("place") || named.Contains(l.Key))
                        .ToDictionary();
                    foreach (var wallet in named.Where(
                        w => lies.GetValueOrDefault(w, " ").Split(' ')[0] != Text("place")))
                    {
                        lies[wallet] = $"{Text("place")} since {Text("since")}";
                    }

                    continue;
            }

            foreach (var (compartment, change) in Changes(line))
            {
                cash[compartment] += change;
                if (slips.GetValueOrDefault(compartment) is { } slip)
                {
                    var ofIt = line.TryGetProperty("handover", out var id) && id.GetInt64() == slip.Id;
                    slip.Amount = Within(slip.Amount + (ofIt ? line.GetProperty("carried").GetDecimal() : 0m),
                        cash[compartment]);
                }
            }
        }

        static decimal Within(decimal carried, decimal cash) => Math.Clamp(carried, 0m, Math.Max(0m, cash));
        decimal Carried(string compartment) => slips.TryGetValue(compartment, out var slip) ? slip.Amount : 0m;
        return Written(
            cash.Select(c => (c.Key, c.Value - Carried(c.Key))),
            slips.Select(s => (s.Key, s.Value.Carrier, s.Value.Since, Carried(s.Key))),
            lies.Select(l => (l.Key, l.Value)));
    }

    private static IEnumerable<(string Compartment, decimal Change)> Changes(JsonElement line)
    {
        decimal Of(string field) => line.GetProperty(field).GetDecimal();
        string At(string field) => line.GetProperty(field).GetProperty("compartment").GetString()!;
        return line.GetProperty("kind").GetString() switch
        {
            "fill" or "refund" => [(line.GetProperty("compartment").GetString()!, Of("amount"))],
            "spend" => [(line.GetProperty("compartment").GetString()!, -Of("amount"))],
            "settlement" => [(line.GetProperty("compartment").GetString()!, Of("difference"))],
            "transfer" => [(At("from"), -Of("amount")), (At("to"), Of("amount"))],
            _ => [],
        };
    }

    private static string Told(JsonElement custody)
    {
        static IEnumerable<JsonElement> Each(JsonElement of, string list) => of.GetProperty(list).EnumerateArray();
        string Text(JsonElement of, string field) => of.GetProperty(field).GetString()!;
        var wallets = Each(custody, "places").SelectMany(p => Each(p, "wallets").Select(w => (Place: p, Wallet: w)))
            .ToList();
        return Written(
            wallets.SelectMany(w => Each(w.Wallet, "compartments"))
                .Select(c => (Text(c, "compartment"), c.GetProperty("cash").GetDecimal()))
                .Where(c => _compartments.Contains(c.Item1)),
            Each(custody, "carried").Select(
                c => (Text(c, "compartment"), Text(c, "carrier"), Text(c, "since"),
                    c.GetProperty("amount").GetDecimal())),
            wallets.Where(w => w.Place.TryGetProperty("place", out _))
                .Select(w => (Text(w.Wallet, "wallet"), $"{Text(w.Place, "place")} since {Text(w.Wallet, "since")}")));
    }

    private static string Written(
        IEnumerable<(string Compartment, decimal Lies)> cash,
        IEnumerable<(string Compartment, string Carrier, string Since, decimal Amount)> carried,
        IEnumerable<(string Wallet, string Place)> lies) => string.Join("; ",
    [
        .. cash.Select(c => string.Create(CultureInfo.InvariantCulture,
            $"{c.Lies:0.00} of {c.Compartment} in its place")).Order(StringComparer.Ordinal),
        .. carried.Select(c => string.Create(CultureInfo.InvariantCulture,
            $"{c.Carrier} has {c.Amount:0.00} of {c.Compartment} since {c.Since}")).Order(StringComparer.Ordinal),
        .. lies.Select(l => $"{l.Wallet} in {l.Place}").Order(StringComparer.Ordinal),
    ]);
}
