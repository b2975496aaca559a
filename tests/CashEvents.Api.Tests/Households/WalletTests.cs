using Xunit;

namespace CashEvents.Api.Tests.Households;

public sealed class WalletTests(SharedServer shared)
{
    [Fact]
    public async Task A_wallet_is_taken_into_use()
    {
        var household = await shared.HarbourRowAsync();

        var opened = (await household.Keeper.PostAsync("/api/wallets", """{"label": "Sea chest"}""")).MustBe(201);

        opened.MustSay("""{"id": "sea-chest", "label": "Sea chest", "lines": [11], "entryId": 11}""");
        Assert.Equal("/api/wallets/sea-chest", opened.Headers["Location"]);
        (await household.Keeper.GetAsync("/api/wallets/sea-chest")).MustBe(200)
            .MustHave("""{"id": "sea-chest", "label": "Sea chest", "closed": false}""");
    }

    [Fact]
    public async Task Wallets_are_listed_in_the_order_they_were_taken_into_use()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/wallets", """{"label": "Apron pocket"}""")).MustBe(201);

        (await household.Keeper.GetAsync("/api/wallets")).MustBe(200).MustHave("""
            {"wallets": [{"id": "oilskin-wallet", "label": "Oilskin wallet", "closed": false}, {"id": "desk-drawer", "label": "Desk drawer", "closed": false}, {"id": "apron-pocket", "label": "Apron pocket", "closed": false}]}
            """);
    }

    [Theory]
    [InlineData("Café d’été", "cafe-dete")]
    [InlineData("Straße 7", "strasse-7")]
    [InlineData("한국 지갑", "한국-지갑")]
    [InlineData("Кошелёк", "кошелек")]
    public async Task The_id_is_made_from_the_labels_letters_and_leads_back_to_it(string label, string id)
    {
        var household = await shared.HarbourRowAsync();

        var opened = (await household.Keeper.PostAsync("/api/wallets", $$"""{"label": "{{label}}"}""")).MustBe(201);

        Assert.Equal(id, opened.Json.GetProperty("id").GetString());
        Assert.Equal(label, (await household.Keeper.GetAsync(opened.Headers["Location"])).MustBe(200).Json
            .GetProperty("label").GetString());
    }

    [Theory]
    [InlineData(409, "wallet-taken", """{"label": "OILSKIN  wallet!"}""")]
    [InlineData(422, "label-without-letters", """{"label": "!?"}""")]
    [InlineData(422, "words-unprintable", """{"label": "two\nlines"}""")]
    [InlineData(422, "words-too-long",
        """{"label": "123456789 123456789 123456789 123456789 123456789 123456789 123456789 123456789 1"}""")]
    [InlineData(400, "malformed", """{"label": " "}""")]
    [InlineData(400, "malformed", """{"label": ""}""")]
    [InlineData(400, "malformed", """{}""")]
    public async Task A_label_that_can_not_be_one_is_refused(int status, string code, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/wallets", body)))
            .MustBlame(status, code, "label");
    }

    [Fact]
    public async Task A_wallet_is_relabelled_closed_when_nothing_in_it_is_in_use_and_reopened()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/places/kitchen-safe",
            """{"label": "Kitchen safe", "wallets": ["desk-drawer"]}""")).MustBe(200);

        (await household.Keeper.PatchAsync("/api/wallets/desk-drawer", """{"label": "Bureau"}""")).MustBe(200)
            .MustHave("""{"id": "desk-drawer", "label": "Bureau", "closed": false, "lines": [12], "entryId": 12}""");
        var mend = (await household.WithoutWritingAsync(
            keeper => keeper.PatchAsync("/api/wallets/desk-drawer", """{"closed": true}""")))
            .MustBlame(409, "wallet-not-empty", "closed");
        Assert.StartsWith("boat-insurance, rainy-day are in 'desk-drawer'", mend, StringComparison.Ordinal);
        (await household.Keeper.PatchAsync("/api/compartments/boat-insurance", """{"wallet": "oilskin-wallet"}"""))
            .MustBe(200);
        (await household.Keeper.PatchAsync("/api/compartments/rainy-day", """{"closed": true}""")).MustBe(200);
        (await household.Keeper.PatchAsync("/api/wallets/desk-drawer", """{"closed": true}""")).MustBe(200)
            .MustHave("""{"id": "desk-drawer", "label": "Bureau", "closed": true, "lines": [15], "entryId": 15}""");
        (await household.Keeper.PatchAsync("/api/wallets/desk-drawer", """{"closed": true}""")).MustBe(200)
            .MustHave("""{"id": "desk-drawer", "label": "Bureau", "closed": true, "lines": []}""");

        Assert.Single((await household.Keeper.GetAsync("/api/balances")).MustBe(200).Json.GetProperty("wallets")
            .EnumerateArray());
        Assert.Single((await household.Keeper.GetAsync("/api/reconciliation")).MustBe(200).Json.GetProperty("wallets")
            .EnumerateArray());
        Assert.DoesNotContain("desk-drawer", (await household.Keeper.GetAsync("/api/custody")).MustBe(200).Text);
        (await household.Keeper.DeleteAsync("/api/places/kitchen-safe")).MustBe(204);

        foreach (var (method, address, body, field) in new[]
        {
            ("POST", "/api/compartments", """{"label": "Coal", "wallet": "desk-drawer", "purpose": "saving"}""",
                "wallet"),
            ("PATCH", "/api/compartments/ferry-fares", """{"wallet": "desk-drawer"}""", "wallet"),
            ("PATCH", "/api/compartments/rainy-day", """{"closed": false}""", "wallet"),
            ("PUT", "/api/places/kitchen-safe", """{"label": "Kitchen safe", "wallets": ["desk-drawer"]}""",
                "wallets[0]"),
        })
        {
            (await household.WithoutWritingAsync(keeper => keeper.SendAsync(method, address, body)))
                .MustBlame(409, "wallet-closed", field);
        }

        (await household.Keeper.PatchAsync("/api/compartments/rainy-day",
            """{"closed": false, "wallet": "oilskin-wallet"}""")).MustBe(200);
        (await household.Keeper.PatchAsync("/api/wallets/desk-drawer", """{"closed": false}""")).MustBe(200);
        Assert.Equal(2, (await household.Keeper.GetAsync("/api/balances")).MustBe(200).Json.GetProperty("wallets")
            .GetArrayLength());
    }

    [Theory]
    [InlineData("sea-chest", 404, "wallet-unknown")]
    [InlineData("desk-drawer", 422, "words-too-long")]
    public async Task A_change_that_can_not_be_is_refused(string wallet, int status, string code)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(
            keeper => keeper.PatchAsync($"/api/wallets/{wallet}", $$"""{"label": "{{new string('x', 81)}}"}""")))
            .MustBeProblem(status, code);
    }

    [Fact]
    public async Task A_misspelt_wallet_is_not_found_and_the_right_one_suggested()
    {
        var household = await shared.HarbourRowAsync();

        var refused = (await household.Keeper.GetAsync("/api/wallets/desk-draw")).MustBeProblem(404, "wallet-unknown");

        Assert.Equal("desk-drawer", refused.GetProperty("suggestions")[0].GetString());
    }
}
