using Xunit;

namespace CashEvents.Api.Tests.Movements;

public sealed class FillTests(SharedServer shared)
{
    [Fact]
    public async Task A_fill_raises_what_a_compartment_holds()
    {
        var household = await shared.HarbourRowAsync();

        var filled = (await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 60, "occurredOn": "2026-11-02", "description": " November pay "}""")).MustBe(201);

        filled.MustSay(
            """{"lines": [11], "entryId": 11, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 60.00}]}""");
        Assert.Equal("/api/lines/11", filled.Headers["Location"]);
        Assert.Equal("\"11\"", filled.ETag);
        (await household.Keeper.GetAsync("/api/lines/11")).MustBe(200).MustHave($$"""
            {"line": 11, "entryId": 11, "kind": "fill", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(11)}}", "occurredOn": "2026-11-02",
             "compartment": "ferry-fares", "holding": "cash", "amount": 60.00, "description": "November pay"}
            """);
    }

    [Fact]
    public async Task It_may_go_to_the_bank_part()
    {
        var household = await shared.HarbourRowAsync();

        var filled = await household.FillAsync("boat-insurance", "200.00", holding: "bank");

        filled.MustHave(
            """{"lines": [11], "entryId": 11, "balances": [{"compartment": "boat-insurance", "holding": "bank", "balance": 200.00}]}""");
        Assert.Equal("0.00", await household.HoldsAsync("boat-insurance"));
    }

    [Fact]
    public async Task It_happened_today_on_the_households_calendar_if_no_day_is_given()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Pacific/Auckland"}""")).MustBe(200);

        var filled = (await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 60.00}""")).MustBe(201);
        var tomorrow = await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-17"}""");
        server.Clock.Advance(TimeSpan.FromDays(1));

        // Noon in UTC is one o'clock of the next morning there.
        Assert.Equal("2026-11-16",
            (await household.Keeper.GetAsync(filled.Headers["Location"])).Json.GetProperty("occurredOn").GetString());
        Assert.Contains("2026-11-16", tomorrow.MustBlame(422, "after-today", "occurredOn"));
        (await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 60.00, "occurredOn": "2026-11-17"}""")).MustBe(201);
    }

    [Theory]
    [InlineData(422, "compartment-unknown", "compartment", """{"compartment": "fery-fares", "amount": 1.00}""")]
    [InlineData(422, "compartment-unknown", "compartment", """{"compartment": "Ferry fares", "amount": 1.00}""")]
    [InlineData(422, "too-many-decimals", "amount", """{"compartment": "ferry-fares", "amount": 1.001}""")]
    [InlineData(422, "too-many-decimals", "amount",
        """{"compartment": "ferry-fares", "amount": 1.00000000000000000000000000000000001}""")]
    [InlineData(422, "too-many-decimals", "amount", """{"compartment": "ferry-fares", "amount": 1e-3}""")]
    [InlineData(422, "amount-too-large", "amount", """{"compartment": "ferry-fares", "amount": 10000000000.00}""")]
    [InlineData(422, "after-today", "occurredOn",
        """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2026-11-16"}""")]
    [InlineData(422, "words-too-long", "description",
        """{"compartment": "ferry-fares", "amount": 1.00, "description": "0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890"}""")]
    [InlineData(422, "words-unprintable", "description",
        """{"compartment": "ferry-fares", "amount": 1.00, "description": "two\nlines"}""")]
    [InlineData(400, "malformed", "amount", """{"compartment": "ferry-fares", "amount": 0.00}""")]
    [InlineData(400, "malformed", "amount",
        """{"compartment": "ferry-fares", "amount": 0.00000000000000000000000000000000001}""")]
    [InlineData(400, "malformed", "amount", """{"compartment": "ferry-fares", "amount": -1.00}""")]
    [InlineData(400, "malformed", "amount", """{"compartment": "ferry-fares"}""")]
    [InlineData(400, "malformed", "amount", """{"compartment": "ferry-fares", "amount": null}""")]
    [InlineData(400, "malformed", "compartment", """{"amount": 1.00}""")]
    [InlineData(400, "malformed", "compartment", """{"compartment": "", "amount": 1.00}""")]
    [InlineData(400, "malformed", "holding", """{"compartment": "ferry-fares", "holding": "pocket", "amount": 1.00}""")]
    [InlineData(400, "malformed", "idempotencyKey",
        """{"compartment": "ferry-fares", "amount": 1.00, "idempotencyKey": ""}""")]
    public async Task One_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", body)))
            .MustBlame(status, code, field);
    }

    [Fact]
    public async Task A_misspelt_compartment_is_answered_with_the_one_that_was_meant()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.Keeper.PostAsync("/api/fills",
            """{"compartment": "Ferry fare", "amount": 1.00}""");

        Assert.Equal("There is no compartment 'Ferry fare'. Did you mean 'ferry-fares'?",
            refused.MustBlame(422, "compartment-unknown", "compartment"));
        Assert.Equal(["ferry-fares"],
            refused.Json.GetProperty("suggestions").EnumerateArray().Select(s => s.GetString()));
    }

    [Theory]
    [InlineData("1e1", "10.00")]
    [InlineData("0.01", "0.01")]
    [InlineData("9999999999.99", "9999999999.99")]
    public async Task An_amount_is_taken_exactly_as_written(string written, string held)
    {
        var household = await shared.HarbourRowAsync();

        await household.FillAsync("ferry-fares", written);

        Assert.Equal(held, await household.HoldsAsync("ferry-fares"));
    }
}
