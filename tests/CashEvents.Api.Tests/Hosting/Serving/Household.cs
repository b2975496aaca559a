using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// A household of a test's own: Harbour Row in Dublin, with two wallets, five compartments and no money yet.
/// </summary>
internal sealed class Household
{
    /// <summary>Lines that stand in the book before the test begins.</summary>
    public const int SetUpLines = 10;

    private Household(RunningServer server, string id, string key) =>
        (Server, Id, Keeper) = (server, id, server.Client(key));

    public RunningServer Server { get; }

    /// <summary>Its tenant.</summary>
    public string Id { get; }

    public ApiClient Keeper { get; }

    /// <summary>Opens a book with nothing in it but the keeper's key.</summary>
    public static async Task<Household> OpenEmptyAsync(RunningServer server)
    {
        var id = "harbour-row-" + Guid.NewGuid().ToString("N");
        var key = "key-of-" + id;
        Assert.True(await server.Opening.OpenAsync(id, "Harbour Row", key));
        return new Household(server, id, key);
    }

    /// <summary>Opens a book and takes the wallets and compartments into use.</summary>
    public static async Task<Household> OpenAsync(RunningServer server)
    {
        var household = await OpenEmptyAsync(server);
        var written = await server.Writer.WriteAsync(new WriteRequest(household.Id, "keeper",
        [
            new EntryRequest(new DescribeHousehold("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday)),
            new EntryRequest(new OpenWallet("Oilskin wallet")),
            new EntryRequest(new OpenWallet("Desk drawer")),
            new EntryRequest(new OpenCompartment("Ferry fares", "oilskin-wallet", Purpose.Spending)),
            new EntryRequest(new OpenCompartment("Market days", "oilskin-wallet", Purpose.Spending)),
            new EntryRequest(new OpenCompartment("Bakery van", "oilskin-wallet", Purpose.Spending)),
            new EntryRequest(new OpenCompartment("Boat insurance", "desk-drawer", Purpose.SinkingFund)),
            new EntryRequest(new OpenCompartment("Rainy day", "desk-drawer", Purpose.Saving)),
        ]));
        Assert.Equal(SetUpLines, written.Book.Line);
        return household;
    }

    /// <summary>The same household as another server on the same database serves it.</summary>
    public Household At(RunningServer server) => new(server, Id, Keeper.Key!);

    /// <summary>Issues a key.</summary>
    public async Task<ApiClient> IssueAsync(string name, string role, string movements = "null")
    {
        var issued = await Keeper.PostAsync("/api/keys",
            $$"""{"name": "{{name}}", "role": "{{role}}", "movements": {{movements}}}""");
        return Server.Client(issued.MustBe(201).Json.GetProperty("key").GetString());
    }

    /// <summary>Money enters a compartment.</summary>
    public async Task<Reply> FillAsync(string compartment, string amount, string on = "2026-11-01",
        string holding = "cash") =>
        (await Keeper.PostAsync("/api/fills",
            $$"""{"compartment": "{{compartment}}", "holding": "{{holding}}", "amount": {{amount}}, "occurredOn": "{{on}}"}""")).MustBe(201);

    /// <summary>Money leaves to a seller.</summary>
    public async Task<Reply> SpendAsync(string compartment, string amount, string on = "2026-11-03",
        string description = "") =>
        (await Keeper.PostAsync("/api/spends",
            $$"""{"compartment": "{{compartment}}", "amount": {{amount}}, "occurredOn": "{{on}}", "description": {{JsonSerializer.Serialize(description)}}}""")).MustBe(201);

    /// <summary>The book's last line.</summary>
    public async Task<long> LineAsync() =>
        (await Keeper.GetAsync("/api/household")).MustBe(200).Json.GetProperty("line").GetInt64();

    /// <summary>What a compartment holds, as written.</summary>
    public async Task<string> HoldsAsync(string compartment, string holding = "cash") =>
        (await Keeper.GetAsync($"/api/compartments/{compartment}")).MustBe(200).Json.GetProperty(holding).GetRawText();

    /// <summary>Sends something that must not write, and asserts that it did not.</summary>
    public async Task<Reply> WithoutWritingAsync(Func<ApiClient, Task<Reply>> send)
    {
        var before = await LineAsync();
        var reply = await send(Keeper);
        Assert.Equal(before, await LineAsync());
        return reply;
    }

    /// <summary>The hash that a line's row carries; empty when it has none.</summary>
    public async Task<string> HashAsync(long line) =>
        (await Database.AskAsync(Server.Database,
            $"select coalesce(headers->>'hash', '') from cashevents.mt_events where tenant_id = '{Id}' and version = "
                + $"{line}"))!;

    /// <summary>A line as a clock that was a year ahead would have stamped it; hashes are not made anew.</summary>
    public Task StampAheadAsync(long line) =>
        Database.AskAsync(Server.Database,
            $"update cashevents.mt_events set timestamp = timestamp + interval '1 year' where tenant_id = '{Id}' and "
                + $"version = {line}");

    /// <summary>Every line of the book, page by page.</summary>
    public Task<List<JsonElement>> LinesAsync(string query = "limit=1000") => Keeper.LinesAsync(query);
}
