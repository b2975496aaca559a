using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>
/// Sent again under its key, every request that writes gets the answer it got: status, body and headers, whatever was
/// written since.
/// </summary>
public sealed partial class RepeatedRequestTests(SharedServer shared)
{
    public static TheoryData<int, string> All => [.. WritingRequests.All.Select((r, i) => (i, r.Request.Operation))];

    [Theory]
    [MemberData(nameof(All))]
    public async Task It_gets_its_first_answer_though_much_was_written_since(int place, string operation)
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("market-days", "100.00");
        var sent = WritingRequests.All[place];
        var line = await household.ReadyAsync(sent);
        var sender = sent.ByPartner ? partner : household.Keeper;
        var first = await sender.WriteAsync(sent.Request, line, ("Idempotency-Key", "8e03978e"));
        Assert.True(await household.LineAsync() > line, $"{operation} wrote nothing.");
        foreach (var request in sent.After)
        {
            await household.Keeper.WriteAsync(request, line,
                first.Status == 204 ? 0 : first.Lines.FirstOrDefault(line + 1));
        }

        await household.FillAsync("market-days", "1.00", on: "2026-11-15");
        (await household.Keeper.PatchAsync("/api/compartments/market-days", """{"label": "Market and fair"}"""))
            .MustBe(200);
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row 3", "currency": "EUR", "timeZone": "Europe/Lisbon"}""")).MustBe(200);
        var again = await household.WithoutWritingAsync(
            _ => sender.WriteAsync(sent.Request, line, ("Idempotency-Key", "8e03978e")));

        Assert.Equal(Told(first), Told(again));
    }

    [Fact]
    public async Task Every_request_that_takes_a_key_is_among_these()
    {
        var document = WholeDocument.Of(
            (await (await shared.ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Text);

        var operations = document.GetProperty("paths").EnumerateObject().SelectMany(path => path.Value.EnumerateObject()
            .Where(o => o.Value.TryGetProperty("parameters", out var parameters)
                && parameters.EnumerateArray().Any(p => p.GetProperty("name").GetString() == "Idempotency-Key"))
            .Select(o => $"{o.Name} {path.Name}"));

        Assert.Equal(operations.Order(StringComparer.Ordinal),
            WritingRequests.All.Select(r => r.Request.Operation).Distinct().Order(StringComparer.Ordinal));
    }

    [Theory]
    [InlineData("allOrNothing")]
    [InlineData("eachOnItsOwn")]
    public async Task A_batch_gets_its_first_answer_too(string mode)
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "100.00");
        var batch = $$"""
            {"mode": "{{mode}}", "movements": [
              {"kind": "fill", "idempotencyKey": "phone-0", "compartment": "market-days", "amount": 40.00},
              {"kind": "count", "idempotencyKey": "phone-1", "compartment": "market-days", "total": 139.00},
              {"kind": "sweep", "idempotencyKey": "phone-2", "from": ["market-days"], "to": "rainy-day"}]}
            """;

        var first = (await household.Keeper.PostAsync("/api/batches", batch)).MustBe(200);
        await household.FillAsync("market-days", "1.00");
        var again = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/batches", batch));

        Assert.Equal(Told(first), Told(again));
    }

    [Theory]
    [InlineData("POST", "/api/wallets", """{"label": "Tin"}""")]
    [InlineData("POST", "/api/compartments",
        """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "sinkingFund"}""")]
    [InlineData("PATCH", "/api/compartments/ferry-fares", """{"label": "Ferry and bus fares"}""")]
    public async Task What_was_written_before_the_currency_was_named_or_changed_is_told_as_it_was(string method,
        string address, string body)
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.PostAsync("/api/wallets", """{"label": "Desk drawer"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/compartments",
            """{"label": "Ferry fares", "wallet": "desk-drawer", "purpose": "spending"}""")).MustBe(201);

        var first = await household.Keeper.SendAsync(method, address, body, ("Idempotency-Key", "8e03978e"));
        foreach (var currency in new[] { "EUR", "JPY", "KWD" })
        {
            (await household.Keeper.PutAsync("/api/household",
                $$"""{"name": "Harbour Row", "currency": "{{currency}}", "timeZone": "Europe/Dublin"}""")).MustBe(200);
            var again = await household.WithoutWritingAsync(
                keeper => keeper.SendAsync(method, address, body, ("Idempotency-Key", "8e03978e")));

            Assert.Equal(Told(first), Told(again));
        }
    }

    [Fact]
    public async Task An_answer_that_an_older_program_kept_is_told_by_the_book_as_it_stands()
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        await household.RuleAsync("market-days", """{"kind": "fixed", "amount": 130.00}""");
        var sends = new Func<Task<Reply>>[]
        {
            () => household.Keeper.PostAsync("/api/compartments",
                """{"label": "Vet visits", "wallet": "desk-drawer", "purpose": "sinkingFund"}""",
                ("Idempotency-Key", "vet")),
            () => household.Keeper.PostAsync("/api/fill-runs", """{"payday": "2026-10-30"}""",
                ("Idempotency-Key", "run")),
            () => household.Keeper.PostAsync("/api/batches",
                """{"movements": [{"kind": "fill", "idempotencyKey": "phone-0", "compartment": "market-days", "amount": 40.00}]}"""),
        };
        var first = new List<string>();
        foreach (var send in sends)
        {
            first.Add(Told(await send()));
        }

        var older = await Database.AskAsync(household.Server.Database,
            $"with kept as (update cashevents.answer set entry = entry - 'currencyCode' - 'filledLabels' where "
                + $"tenant_id = '{household.Id}' returning 1) select count(*) from kept");

        Assert.Equal("3", older);
        for (var i = 0; i < sends.Length; i++)
        {
            Assert.Equal(first[i], Told(await household.WithoutWritingAsync(_ => sends[i]())));
        }
    }

    // The key itself is shown once: only its hash is kept.
    private static string Told(Reply reply) => string.Join('\n', [
        $"{reply.Status}", KeyShown().Replace(reply.Text, ""),
        .. reply.Headers.Where(h => h.Key is not ("Date" or "Content-Length")).OrderBy(h => h.Key)
            .Select(h => $"{h.Key}: {h.Value}")]);

    [GeneratedRegex("\"key\":\"[^\"]*\",")]
    private static partial Regex KeyShown();
}
