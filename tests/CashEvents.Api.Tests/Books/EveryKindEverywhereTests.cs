using System.Text.Json;
using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// A book with a line of every kind there is can be read in every form at every address, and each of its lines stands
/// wherever lines are shown.
/// </summary>
public sealed partial class EveryKindEverywhereTests(SharedServer shared)
{
    [Fact]
    public async Task Every_address_answers_in_every_form_that_it_offers()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var lines = await household.LinesAsync();
        MustHaveEveryKind(lines);
        (await household.Keeper.PostAsync("/api/calendar-address", "{}")).MustBe(201);

        foreach (var (path, forms) in await ReadsAsync(household))
        {
            foreach (var address in await AddressesAsync(household, path, lines))
            {
                foreach (var form in forms)
                {
                    var reply = (await household.Keeper.GetAsync(address, ("Accept", form))).MustBe(200);
                    Assert.Equal(form, reply.ContentType);
                    Assert.NotEqual("", form == "text/html" ? PrintedSheet.Of(reply).Document.Title : reply.Text);
                }
            }
        }
    }

    [Fact]
    public async Task Every_line_that_has_a_day_stands_in_its_month_and_on_the_leaf_of_each_wallet_that_it_is_about()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var lines = await household.LinesAsync();
        MustHaveEveryKind(lines);
        var wallets = (await household.Keeper.GetAsync("/api/compartments")).MustBe(200).Json
            .GetProperty("compartments").EnumerateArray()
            .ToDictionary(c => c.GetProperty("id").GetString()!, c => c.GetProperty("wallet").GetString()!);

        foreach (var month in MonthsOf(lines))
        {
            var dated = lines.Where(l =>
                l.TryGetProperty("occurredOn", out var day)
                    && day.GetString()!.StartsWith(month, StringComparison.Ordinal)).ToList();
            var told = (await household.Keeper.GetAsync($"/api/months/{month}/trail")).MustBe(200).Json
                .GetProperty("lines").EnumerateArray();
            Assert.Equal(dated.Select(Number).Order(), told.Select(l => Number(l.GetProperty("line"))).Order());

            var page = await PrintedSheet.GetAsync(household.Keeper, $"/api/months/{month}/trail");
            var leaves = page.Document.QuerySelectorAll("section.wallet").ToDictionary(
                leaf => PrintedSheet.Words(leaf.QuerySelector("h1")!),
                leaf => PrintedSheet.Rows(leaf, "table.lines").Select(row => (Line: long.Parse(row[1]), Kind: row[2]))
                    .ToHashSet());
            Assert.All(dated, line => Assert.All(CompartmentsOf(line).Select(c => wallets[c]), wallet =>
                Assert.Contains((Number(line), Written.Heading(line.GetProperty("kind").GetString()!)),
                    leaves[wallet == "desk-drawer" ? "Desk drawer" : "Oilskin wallet"])));
            Assert.All(dated, line => Assert.NotEmpty(CompartmentsOf(line)));
        }
    }

    [Fact]
    public async Task What_is_handed_over_or_exchanged_is_told_beside_its_line_and_is_no_amount_of_the_month()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00");
        await household.FillAsync("rainy-day", "10.00");
        (await household.Keeper.PostAsync("/api/exchanges",
            """{"compartment": "ferry-fares", "with": "rainy-day", "gives": {"10": 1}, "takes": {"5": 1, "2": 2, "0.50": 2}}""")).MustBe(201);
        var handover = (await household.Keeper.PostAsync("/api/handovers",
            """{"compartment": "ferry-fares", "amount": 40.00, "carrier": "partner"}""")).MustBe(201).Json
            .GetProperty("id").GetInt64();
        (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 8.40, "carried": true}""")).MustBe(201);
        (await household.Keeper.PostAsync($"/api/handovers/{handover}/return", """{"total": 51.60}""")).MustBe(201);

        var page = await PrintedSheet.GetAsync(household.Keeper, "/api/months/2026-11/trail");

        Assert.Equal(
            [
                ["fill", "Ferry fares", "60.00", ""],
                ["exchange", "Ferry fares ⇄ Rainy day", "", "gives 1 × 10.00, takes 1 × 5.00 + 2 × 2.00 + 2 × 0.50"],
                ["handover", "Ferry fares", "", "40.00 carried by partner"],
                ["spend", "Ferry fares", "−8.40", $"carried −8.40, handover {handover}"],
                ["handover returned", "Ferry fares", "", $"handover {handover} is back"],
                ["count", "Ferry fares", "", "counted 51.60, expected 51.60"],
            ],
            PrintedSheet.Rows(page.Document.QuerySelector("section.wallet")!, "table.lines")
                .Select(row => new[] { row[2], row[3], row[5], Late().Replace(row[7], "") }));
    }

    [Fact]
    public async Task A_run_that_fills_two_compartments_is_no_transfer_in_a_spreadsheet_nor_is_its_reversal()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/income-sources/harbour-office",
            """{"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400.00}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
            """{"kind": "fixed", "amount": 40.00}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/market-days/fill-rule",
            """{"kind": "fixed", "amount": 85.00}""")).MustBe(200);
        var run = (await household.Keeper.PostAsync("/api/fill-runs", """{"payday": "2026-10-30"}""")).MustBe(201).Lines
            .Single();
        (await household.Keeper.PostAsync($"/api/lines/{run}/reversal", """{"reason": "Paid less"}""")).MustBe(201);

        var rows = (await household.Keeper.GetAsync($"/api/lines?after={run - 1}", ("Accept", "text/csv")))
            .MustBe(200).Text.Split("\r\n")[1..3].Select(row => row.Split(',')).ToList();

        // Compartment and the one it goes to, amount, difference.
        Assert.Equal([["fillRun", "", "", "125.00", ""], ["reversal", "", "", "", "-125.00"]],
            rows.Select(c => new[] { c[2], c[6], c[8], c[10], c[13] }));
    }

    private static void MustHaveEveryKind(IEnumerable<JsonElement> lines) =>
        Assert.Equal(LineKinds.Types.Keys.Order(),
            lines.Select(l => l.GetProperty("kind").GetString()!).Distinct().Order());

    /// <summary>Each address that is read, with the forms in which the OpenAPI document offers it.</summary>
    private static async Task<List<(string Path, string[] Forms)>> ReadsAsync(Household household) =>
    [
        .. from path in (await household.Keeper.GetAsync("/openapi.json")).MustBe(200).Json.GetProperty("paths")
            .EnumerateObject()
           where path.Name.StartsWith("/api/", StringComparison.Ordinal) && path.Value.TryGetProperty("get", out _)
               // The server's own key reads these, and no book; the feed has no end; webhooks are no part of a book.
               && !path.Name.StartsWith("/api/households", StringComparison.Ordinal)
               && path.Name != "/api/feed" && !path.Name.StartsWith("/api/webhooks/", StringComparison.Ordinal)
           select (path.Name, path.Value.GetProperty("get").GetProperty("responses").GetProperty("200")
               .GetProperty("content").EnumerateObject().Select(c => c.Name)
               .Concat(Operation.OtherForms(path.Value.GetProperty("get"))).ToArray()),
    ];

    /// <summary>
    /// Every address of a path that there is something at; a new part in braces has to be added here.
    /// </summary>
    private static async Task<IEnumerable<string>> AddressesAsync(Household household, string path,
        List<JsonElement> lines)
    {
        IEnumerable<string> Of(string kind, string field = "line") =>
            lines.Where(l => l.GetProperty("kind").GetString() == kind).Select(l => l.GetProperty(field).ToString())
                .Distinct();
        var part = Part().Match(path).Value;
        IEnumerable<string> values = path switch
        {
            _ when part.Length == 0 => [""],
            "/api/rebuilds/{id}" => [(await household.Keeper.PostAsync("/api/rebuilds", "{}")).MustBe(202).Json
                .GetProperty("id").ToString()],
            _ when path.StartsWith("/api/compartments/", StringComparison.Ordinal) =>
                Of("compartmentOpened", "compartment"),
            "/api/keys/{name}" => ["keeper"],
            "/api/wallets/{id}" => Of("walletOpened", "wallet"),
            "/api/sinking-funds/{id}" => Of("fundTerms", "compartment"),
            "/api/saving-plans/{id}" => Of("savingPlan", "compartment"),
            "/api/goals/{id}" => (await household.Keeper.GetAsync("/api/goals")).MustBe(200).Json.GetProperty("goals")
                .EnumerateArray().Select(g => g.GetProperty("id").GetString()!),
            "/api/counts/{id}/explanations" => [Of("count").Last()],
            _ when path.StartsWith("/api/count-rounds/", StringComparison.Ordinal) => Of("countRound"),
            "/api/lines/{n}" => lines.Select(l => l.GetProperty("line").ToString()),
            _ when path.StartsWith("/api/fill-runs/", StringComparison.Ordinal) => Of("fillRun", "payday"),
            _ when part == "{month}" => MonthsOf(lines),
            "/api/paydays/{day}/statement" => Of("fillRun", "payday"),
            "/api/weeks/{week}" => ["2026-W44", "2026-W45", "2026-W46"],
            _ => throw new InvalidOperationException($"What stands for {part} in {path}?"),
        };
        return values.Select(value => part.Length == 0 ? path : path.Replace(part, value, StringComparison.Ordinal));
    }

    private static IEnumerable<string> MonthsOf(IEnumerable<JsonElement> lines) =>
        lines.Where(l => l.TryGetProperty("occurredOn", out _))
            .Select(l => l.GetProperty("occurredOn").GetString()![..7]).Distinct().Order();

    private static long Number(JsonElement line) => line.GetProperty("line").GetInt64();

    private static IEnumerable<string> CompartmentsOf(JsonElement line)
    {
        string? Named(JsonElement element, string field) =>
            element.TryGetProperty(field, out var name) ? name.GetString() : null;
        IEnumerable<string?> named =
        [
            Named(line, "compartment"), Named(line, "with"),
            line.TryGetProperty("from", out var from) ? Named(from, "compartment") : null,
            line.TryGetProperty("to", out var to) ? Named(to, "compartment") : null,
            .. line.TryGetProperty("parts", out var parts)
                ? parts.EnumerateArray().Select(p => Named(p, "compartment"))
                : [],
            .. line.TryGetProperty("changes", out var changes)
                ? changes.EnumerateArray().Select(c => Named(c, "compartment"))
                : [],
        ];
        return named.OfType<string>().Distinct();
    }

    [GeneratedRegex(@"\{\w+\}")]
    private static partial Regex Part();

    [GeneratedRegex(@"(; )?late \d+ days?")]
    private static partial Regex Late();
}
