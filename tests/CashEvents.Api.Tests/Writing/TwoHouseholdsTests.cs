using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class TwoHouseholdsTests(SharedServer shared)
{
    /// <summary>Words and an amount that stand only in the neighbour's book.</summary>
    private static readonly string[] _theirs =
        ["lighthouse", "Lighthouse", "7777.77", "777777", "keepers-lamp", "lamp oil", "oil supplier"];

    [Theory]
    [InlineData("/api/household")]
    [InlineData("/api/wallets")]
    [InlineData("/api/compartments")]
    [InlineData("/api/compartments/ferry-fares")]
    [InlineData("/api/balances")]
    [InlineData("/api/compartments/ferry-fares/tracker?month=2026-11")]
    [InlineData("/api/lines?limit=1000")]
    [InlineData("/api/keys")]
    public async Task An_answer_shows_nothing_of_the_other_household_though_the_ids_are_the_same(string address)
    {
        var (ours, theirs) = await NeighboursAsync();

        var seenByUs = await ours.Keeper.GetAsync(address);
        var seenByThem = await theirs.Keeper.GetAsync(address);

        seenByUs.MustBe(200);
        Assert.All(_theirs, word => Assert.DoesNotContain(word, seenByUs.Text));
        Assert.NotEqual(seenByUs.Text, seenByThem.Text);
        Assert.Equal(await ours.LineAsync(), seenByUs.BookLine);
    }

    [Theory]
    [InlineData("GET", "/api/compartments/lighthous", null)]
    [InlineData("GET", "/api/compartments/lighthouse", null)]
    [InlineData("GET", "/api/compartments/lighthouse/tracker", null)]
    [InlineData("GET", "/api/wallets/keepers-lamp", null)]
    [InlineData("GET", "/api/lines?compartment=lighthouse", null)]
    [InlineData("GET", "/api/lines/15", null)]
    [InlineData("DELETE", "/api/keys/oil%20supplier", null)]
    [InlineData("PATCH", "/api/compartments/lighthouse", """{"closed": true}""")]
    [InlineData("POST", "/api/counts/16/settlement", """{"reason": "Not ours"}""")]
    [InlineData("POST", "/api/spends", """{"compartment": "lighthous", "amount": 1.00}""")]
    [InlineData("POST", "/api/spends", """{"compartment": "ferry-fares", "amount": 5000.00}""")]
    [InlineData("POST", "/api/spends",
        """{"compartment": "ferry-fares", "amount": 50.00, "restFrom": "lighthouse"}""")]
    [InlineData("POST", "/api/sweeps", """{"from": {"wallet": "keepers-lamp"}, "to": "ferry-fares"}""")]
    public async Task A_refusal_neither_finds_nor_suggests_what_is_the_other_households(string method, string address,
        string? body)
    {
        var (ours, theirs) = await NeighboursAsync();
        var theirLine = await theirs.LineAsync();

        var refused = await ours.WithoutWritingAsync(keeper => keeper.SendAsync(method, address, body));

        Assert.InRange(refused.Status, 404, 422);
        // What was sent comes back, and nothing besides.
        var sent = Uri.UnescapeDataString(address) + body;
        Assert.All(_theirs.Where(word => !sent.Contains(word)), word => Assert.DoesNotContain(word, refused.Text));
        Assert.DoesNotContain("suggestions", refused.Text);
        if (refused.Json.TryGetProperty("shortage", out var shortage))
        {
            Assert.Empty(shortage.GetProperty("couldGive").EnumerateArray());
        }

        Assert.Equal(theirLine, await theirs.LineAsync());
    }

    [Fact]
    public async Task The_same_idempotency_key_stands_for_each_households_own_request()
    {
        var (ours, theirs) = await NeighboursAsync();

        var our = (await ours.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 2.00}""",
            ("Idempotency-Key", "pay"))).MustBe(201);
        var their = (await theirs.Keeper.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 3.00}""",
            ("Idempotency-Key", "pay"))).MustBe(201);

        Assert.NotEqual(our.Text, their.Text);
        Assert.Equal("12.00", await ours.HoldsAsync("ferry-fares"));
        Assert.Equal("7780.77", await theirs.HoldsAsync("ferry-fares"));
    }

    [Fact]
    public async Task Keys_of_one_name_open_each_their_own_book_and_revoking_one_leaves_the_other()
    {
        var (ours, theirs) = await NeighboursAsync();
        var ourPartner = await ours.IssueAsync("partner", "member");
        var theirPartner = await theirs.IssueAsync("partner", "member");

        (await ours.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        (await ourPartner.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        Assert.Contains("7777.77", (await theirPartner.GetAsync("/api/balances")).MustBe(200).Text);
    }

    /// <summary>Two households whose first lines are alike; the second then has more of everything.</summary>
    private async Task<(Household Ours, Household Theirs)> NeighboursAsync()
    {
        var ours = await shared.HarbourRowAsync();
        var theirs = await Household.OpenAsync(await shared.ServerAsync());
        await ours.FillAsync("ferry-fares", "10.00");

        await theirs.FillAsync("ferry-fares", "7777.77");
        (await theirs.Keeper.PostAsync("/api/wallets", """{"label": "Keeper's lamp"}""")).MustBe(201);
        (await theirs.Keeper.PostAsync("/api/compartments",
            """{"label": "Lighthouse", "wallet": "keepers-lamp", "purpose": "saving"}""")).MustBe(201);
        await theirs.FillAsync("lighthouse", "7777.77");
        await theirs.SpendAsync("lighthouse", "1.00", description: "lamp oil");
        (await theirs.Keeper.PostAsync("/api/counts", """{"compartment": "lighthouse", "total": 7000.00}"""))
            .MustBe(201);
        await theirs.IssueAsync("oil supplier", "viewer");
        return (ours, theirs);
    }
}
