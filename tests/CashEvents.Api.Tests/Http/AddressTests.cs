using Xunit;

namespace CashEvents.Api.Tests.Http;

public sealed class AddressTests(SharedServer shared)
{
    [Theory]
    [InlineData("GET", "/api/nowhere")]
    [InlineData("GET", "/api")]
    [InlineData("GET", "/api/compartments/ferry-fares/nowhere")]
    [InlineData("GET", "/nowhere")]
    [InlineData("GET", "//api/balances")]
    [InlineData("POST", "/api/counts/twelve/settlement")]
    public async Task Where_there_is_nothing_the_answer_says_where_to_look(string method, string address)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.Keeper.SendAsync(method, address, method == "POST" ? "{}" : null);

        Assert.Contains("/openapi.json",
            refused.MustBeProblem(404, "address-unknown").GetProperty("detail").GetString());
    }

    [Theory]
    [InlineData("DELETE", "/api/lines/1", "GET, HEAD, OPTIONS")]
    [InlineData("PUT", "/api/lines/1", "GET, HEAD, OPTIONS")]
    [InlineData("DELETE", "/api/balances", "GET, HEAD, OPTIONS")]
    [InlineData("GET", "/api/spends", "POST, OPTIONS")]
    [InlineData("HEAD", "/api/spends", "POST, OPTIONS")]
    [InlineData("DELETE", "/api/compartments/ferry-fares", "GET, HEAD, PATCH, OPTIONS")]
    [InlineData("POST", "/api/household", "GET, HEAD, PUT, OPTIONS")]
    public async Task A_method_that_an_address_does_not_take_is_answered_with_those_it_takes(string method,
        string address, string allowed)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.SendAsync(method, address, method is "POST" or "PUT" ? "{}" : null));

        if (method != "HEAD")
        {
            Assert.EndsWith($"It takes {allowed}.",
                refused.MustBeProblem(405, "method-unknown").GetProperty("detail").GetString());
        }

        Assert.Equal((405, allowed), (refused.Status, refused.Headers["Allow"]));
    }

    [Theory]
    [InlineData("GET", "/api/household", null)]
    [InlineData("GET", "/api/wallets", null)]
    [InlineData("GET", "/api/wallets/desk-drawer", null)]
    [InlineData("GET", "/api/compartments", null)]
    [InlineData("GET", "/api/compartments/ferry-fares", null)]
    [InlineData("GET", "/api/compartments/ferry-fares/tracker", null)]
    [InlineData("GET", "/api/balances", null)]
    [InlineData("GET", "/api/lines", null)]
    [InlineData("GET", "/api/lines/1", null)]
    [InlineData("GET", "/api/keys", null)]
    [InlineData("PUT", "/api/household",
        """{"name": "Harbour Row 2", "currency": "EUR", "timeZone": "Europe/Dublin"}""")]
    [InlineData("POST", "/api/wallets", """{"label": "Sea chest"}""")]
    [InlineData("PATCH", "/api/compartments/ferry-fares", """{"closed": true}""")]
    [InlineData("POST", "/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")]
    [InlineData("POST", "/api/counts", """{"compartment": "ferry-fares", "total": 1.00}""")]
    [InlineData("POST", "/api/batches",
        """{"movements": [{"kind": "fill", "compartment": "ferry-fares", "amount": 1.00}]}""")]
    [InlineData("POST", "/api/keys", """{"name": "partner", "role": "member"}""")]
    [InlineData("DELETE", "/api/keys/keeper", null)]
    public async Task A_parameter_that_an_address_does_not_take_is_refused_and_nothing_written(string method,
        string address, string? body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.SendAsync(method, address + "?dryRun=true", body)))
            .MustBlame(400, "malformed", "dryRun");
    }

    [Theory]
    [InlineData("/api/compartments/%01")]
    [InlineData("/api/compartments/a%0Ab")]
    [InlineData("/api/compartments/%EF%BF%BE")]
    [InlineData("/api/compartments/%EF%BF%BE/tracker")]
    [InlineData("/api/compartments/%F0%9F%8D%9E")]
    [InlineData("/api/compartments/%C0%80")]
    [InlineData("/api/compartments/..%2F..%2Fetc")]
    [InlineData("/api/wallets/a%0Db")]
    public async Task A_name_that_none_can_have_is_not_found(string address)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync(address))
            .MustBeProblem(404, address.Contains("wallets", StringComparison.Ordinal)
                ? "wallet-unknown"
                : "compartment-unknown");
    }

    [Fact]
    public async Task A_zero_character_in_an_address_is_refused_by_the_server_itself()
    {
        var household = await shared.HarbourRowAsync();

        Assert.Equal(400, (await household.Keeper.GetAsync("/api/compartments/ferry%00fares")).Status);
    }

    [Fact]
    public async Task A_very_long_name_in_an_address_is_not_found()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/compartments/{new string('x', 7000)}"))
            .MustBeProblem(404, "compartment-unknown");
    }
}
