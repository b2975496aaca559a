using System.Globalization;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>
/// Whatever is written while somebody reads, an answer tells the book as one line left it: the line that it names.
/// </summary>
public sealed class OneMomentTests
{
    // So many answers, and so many lines written meanwhile.
    private const int Least = 60;

    [Theory]
    [InlineData("/api/balances?on=2026-11-10")]
    [InlineData("/api/compartments/ferry-fares/tracker?month=2026-11")]
    [ThoroughData("/api/weeks?from=2026-11-03&to=2026-11-03")]
    [ThoroughData("/api/over-and-short?from=2026-11-01&to=2026-11-15")]
    [ThoroughData("/api/months/2026-11/trail")]
    [ThoroughData("/api/months")]
    [ThoroughData("/api/reconciliation")]
    [ThoroughData("/api/custody")]
    [ThoroughData("/api/outlook")]
    public async Task An_answer_is_of_one_moment(string address)
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "900.00", on: "2026-11-01");
        await household.FillAsync("market-days", "50.00", on: "2026-11-01");

        var readings = await WhileWritingAsync(household,
            async () => (await household.Keeper.GetAsync(address)).MustBe(200).Json);

        var lines = await household.LinesAsync();
        Assert.All(readings, reading =>
            Assert.Equal(Expected(address, lines[..(int)LineOf(reading)]), Said(address, reading)));
    }

    [ThoroughFact]
    public async Task A_month_s_page_has_its_charts_and_its_figures_from_one_moment()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        await household.FillAsync("ferry-fares", "900.00", on: "2026-11-01");
        await household.FillAsync("market-days", "50.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "0.01", on: "2026-11-03");

        var pages = await WhileWritingAsync(household,
            async () => Printing.PrintedSheet.Of(
                await household.Keeper.GetAsync("/api/months/2026-11/trail", ("Accept", "text/html"))).Document);

        // What the bars say was spent in the weeks of November is what the figures say was.
        Assert.All(pages, page =>
        {
            var bars = page.QuerySelectorAll("svg").Select(chart => chart.QuerySelector("desc")!.TextContent)
                .Single(words => words.Contains("plan, spent", StringComparison.Ordinal));
            var figures = page.QuerySelectorAll("table")
                .First(table => table.QuerySelectorAll("th").Any(th => th.TextContent.Trim() == "spent"));
            var column = figures.QuerySelectorAll("thead th").Select(th => th.TextContent.Trim()).ToList()
                .IndexOf("spent");
            var spent = figures.QuerySelector("tfoot tr")!.Children[column].TextContent.Trim();
            Assert.Contains($"spent {spent}.", bars, StringComparison.Ordinal);
        });
    }

    [ThoroughFact]
    public async Task A_round_that_is_closed_meanwhile_is_told_once()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);

        var readings = await WhileAsync(
            async () => (await household.Keeper.GetAsync("/api/count-rounds?limit=500")).MustBe(200).Json,
            async _ =>
            {
                var round = (await household.Keeper.PostAsync("/api/count-rounds", """{"wallet": "oilskin-wallet"}"""))
                    .MustBe(201).Json.GetProperty("id").GetInt64();
                (await household.Keeper.PostAsync($"/api/count-rounds/{round}/close",
                    """{"reason": "Somebody came"}""")).MustBe(201);
            });

        var lines = await household.LinesAsync();
        Assert.All(readings, reading =>
        {
            long[] Ids(string list) =>
                [.. reading.GetProperty(list).EnumerateArray().Select(r => r.GetProperty("id").GetInt64())];
            var then = lines[..(int)LineOf(reading)].ToLookup(l => l.GetProperty("kind").GetString());
            var closed = then["countRoundClosed"].Select(l => l.GetProperty("round").GetInt64()).ToArray();
            Assert.Equal(closed, Ids("closed"));
            Assert.Equal(then["countRound"].Select(l => l.GetProperty("line").GetInt64()).Except(closed), Ids("open"));
        });
    }

    // A label, the first day of the week, what was spent, what was counted and settled: each changes again and again
    // while it is read.
    private static Task<List<T>> WhileWritingAsync<T>(Household household, Func<Task<T>> read) => WhileAsync(
        read,
        async i => (await household.Keeper.PatchAsync("/api/compartments/ferry-fares",
            $$"""{"label": "Ferry fares {{i}}"}""")).MustBe(200),
        async i => (await household.Keeper.PutAsync("/api/household",
            $$"""{"name": "Harbour Row {{i}}", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "{{(i % 2 == 0 ? "sunday" : "monday")}}"}""")).MustBe(200),
        _ => household.SpendAsync("ferry-fares", "0.01", on: "2026-11-03"),
        async _ =>
        {
            var count = (await household.Keeper.PostAsync("/api/counts",
                """{"compartment": "market-days", "total": 49.00}""")).MustBe(201).Json.GetProperty("countId")
                .GetInt64();
            var settled = (await household.Keeper.PostAsync($"/api/counts/{count}/settlement",
                """{"reason": "Looked everywhere"}""")).MustBe(201).Lines[0];
            (await household.Keeper.PostAsync($"/api/lines/{settled}/reversal", """{"reason": "Found"}""")).MustBe(201);
        });

    private static async Task<List<T>> WhileAsync<T>(Func<Task<T>> read, params Func<int, Task>[] writes)
    {
        using var enough = new CancellationTokenSource();
        var written = 0;
        async Task AgainAndAgainAsync(Func<int, Task> write)
        {
            for (var i = 0; !enough.IsCancellationRequested; i++)
            {
                await write(i);
                Interlocked.Increment(ref written);
            }
        }

        var writing = Task.WhenAll(writes.Select(AgainAndAgainAsync));
        try
        {
            var readings = new List<T>();
            while (readings.Count < Least || Volatile.Read(ref written) < Least)
            {
                readings.Add(await read());
            }

            return readings;
        }
        finally
        {
            await enough.CancelAsync();
            await writing;
        }
    }

    private static long LineOf(JsonElement answer) =>
        answer.GetProperty(answer.TryGetProperty("bookLine", out _) ? "bookLine" : "line").GetInt64();

    // What an answer says of that which changes.
    private static string Said(string address, JsonElement answer)
    {
        JsonElement Ferry(string list) =>
            answer.GetProperty(list).EnumerateArray()
                .Single(c => c.GetProperty("compartment").GetString() == "ferry-fares");
        return address.Split('?')[0] switch
        {
            "/api/balances" =>
                $"{Ferry("compartments").GetProperty("label")} {Ferry("compartments").GetProperty("cash")}",
            "/api/compartments/ferry-fares/tracker" =>
                $"{answer.GetProperty("label")} {answer.GetProperty("closingBalance")}",
            "/api/weeks" => string.Join(' ',
                answer.GetProperty("weeks").EnumerateArray()
                    .Select(w => $"{w.GetProperty("firstDay")} {w.GetProperty("totals").GetProperty("spent")}")),
            "/api/over-and-short" => string.Join(' ',
                answer.GetProperty("differences").EnumerateArray().Select(d => d.GetProperty("line").GetInt64())),
            "/api/months/2026-11/trail" =>
                $"{answer.GetProperty("household").GetProperty("spent")} "
                    + $"{answer.GetProperty("trialBalance").GetProperty("difference")} "
                    + $"{answer.GetProperty("lines").GetArrayLength()}",
            "/api/months" =>
                $"{answer.GetProperty("totals").GetProperty("spent")} "
                    + $"{answer.GetProperty("months")[0].GetProperty("closingCash")}",
            "/api/reconciliation" => $"{answer.GetProperty("household").GetProperty("cash").GetProperty("balance")}",
            "/api/custody" => $"{answer.GetProperty("cashAtHome")}",
            "/api/outlook" => string.Join(' ',
                answer.GetProperty("stretches")[0].GetProperty("compartments").EnumerateArray()
                    .Where(c => c.GetProperty("compartment").GetString() == "ferry-fares")
                    .Select(c => $"{c.GetProperty("label")} {c.GetProperty("opening")}")),
            _ => throw new ArgumentException($"Nothing is known of {address}."),
        };
    }

    private static string Expected(string address, List<JsonElement> lines)
    {
        var kinds = lines.ToLookup(l => l.GetProperty("kind").GetString());
        var label = kinds["compartmentRelabelled"].Select(l => l.GetProperty("label").GetString()).LastOrDefault()
            ?? "Ferry fares";
        var firstDay = kinds["householdDescribed"].Last().GetProperty("firstDayOfWeek").GetString() == "sunday"
            ? "2026-11-01"
            : "2026-11-02";
        var spent = 0.01m * kinds["spend"].Count();
        var undone = kinds["reversal"].Select(l => l.GetProperty("reverses").GetInt64()).ToHashSet();
        var settled = kinds["settlement"].Select(l => l.GetProperty("line").GetInt64()).Where(l => !undone.Contains(l))
            .ToList();
        string Say(decimal amount) => amount.ToString("0.00", CultureInfo.InvariantCulture);
        return address.Split('?')[0] switch
        {
            "/api/balances" or "/api/compartments/ferry-fares/tracker" or "/api/outlook" =>
                $"{label} {Say(900m - spent)}",
            "/api/weeks" => $"{firstDay} {Say(spent)}",
            "/api/over-and-short" => string.Join(' ', settled),
            "/api/months/2026-11/trail" =>
                $"{Say(spent)} 0.00 {lines.Count(l => l.TryGetProperty("occurredOn", out _))}",
            "/api/months" => $"{Say(spent)} {Say(950m - spent - settled.Count)}",
            "/api/reconciliation" or "/api/custody" => Say(950m - spent - settled.Count),
            _ => throw new ArgumentException($"Nothing is known of {address}."),
        };
    }
}
