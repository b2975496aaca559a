using Xunit;

namespace CashEvents.Api.Tests.Households;

public sealed class HouseholdTests(SharedServer shared)
{
    private const string HarbourRow =
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "sunday"}""";

    [Fact]
    public async Task It_is_described_whole_and_read_back()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var written = (await household.Keeper.PutAsync("/api/household", HarbourRow)).MustBe(200);
        var read = (await household.Keeper.GetAsync("/api/household")).MustBe(200);

        read.MustSay(
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "sunday", "line": 3}""");
        Assert.Equal((written.Text, "\"3\"", 3L), (read.Text, written.ETag, read.BookLine));
    }

    [Fact]
    public async Task A_week_starts_on_monday_if_nothing_else_is_said()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());

        var written = await household.Keeper.PutAsync("/api/household",
            """{"name": "  Harbour Row  ", "currency": "GBP", "timeZone": "Europe/London"}""");

        written.MustHave(
            """{"name": "Harbour Row", "currency": "GBP", "timeZone": "Europe/London", "firstDayOfWeek": "monday", "line": 3}""");
    }

    [Fact]
    public async Task A_new_book_has_no_currency_and_refuses_amounts_until_it_is_named()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.PostAsync("/api/wallets", """{"label": "Sea chest"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/compartments",
            """{"label": "Rainy day", "wallet": "sea-chest", "purpose": "saving"}""")).MustBe(201);

        Assert.False((await household.Keeper.GetAsync("/api/household")).Json.TryGetProperty("currency", out _));
        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", """{"compartment": "rainy-day", "amount": 1}"""));
        refused.MustBeProblem(409, "currency-missing");
        (await household.Keeper.PutAsync("/api/household", HarbourRow)).MustBe(200);
        await household.FillAsync("rainy-day", "1");
        Assert.Equal("1.00", await household.HoldsAsync("rainy-day"));
    }

    [Fact]
    public async Task The_same_description_again_writes_nothing()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.PutAsync("/api/household", HarbourRow)).MustBe(200);

        (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/household", HarbourRow))).MustBe(200);
    }

    [Fact]
    public async Task The_currency_stays_once_the_book_has_amounts_and_the_name_may_change()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "1.00");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/household",
                """{"name": "Harbour Row", "currency": "USD", "timeZone": "Europe/Dublin"}"""));

        refused.MustBlame(409, "currency-fixed", "currency");
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Pier Lane", "currency": "EUR", "timeZone": "Europe/Dublin"}""")).MustBe(200);
    }

    [Theory]
    [InlineData("JPY", "250", "250")]
    [InlineData("KWD", "1.250", "1.250")]
    [InlineData("EUR", "1.5", "1.50")]
    public async Task Amounts_have_the_decimals_of_the_currency(string currency, string amount, string told)
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/household",
            $$"""{"name": "Harbour Row", "currency": "{{currency}}", "timeZone": "Europe/Dublin"}""")).MustBe(200);

        await household.FillAsync("ferry-fares", amount);

        Assert.Equal(told, await household.HoldsAsync("ferry-fares"));
    }

    [Theory]
    [InlineData("currency-unknown", "currency",
        """{"name": "Harbour Row", "currency": "EURO", "timeZone": "Europe/Dublin"}""")]
    [InlineData("currency-unknown", "currency",
        """{"name": "Harbour Row", "currency": "eur", "timeZone": "Europe/Dublin"}""")]
    [InlineData("words-unprintable", "name",
        """{"name": "Harbour\u0000Row", "currency": "EUR", "timeZone": "Europe/Dublin"}""")]
    [InlineData("words-unprintable", "name",
        """{"name": "Harbour \u202E Row", "currency": "EUR", "timeZone": "Europe/Dublin"}""")]
    [InlineData("time-zone-unknown", "timeZone",
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Dublin"}""")]
    [InlineData("time-zone-unknown", "timeZone",
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe"}""")]
    [InlineData("time-zone-unknown", "timeZone",
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "../../../etc/passwd"}""")]
    [InlineData("time-zone-unknown", "timeZone",
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "/etc/localtime"}""")]
    [InlineData("time-zone-unknown", "timeZone",
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin\u0000"}""")]
    [InlineData("time-zone-unknown", "timeZone",
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "\u202E\uFFFE"}""")]
    public async Task Words_that_do_not_fit_are_refused(string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/household", body)))
            .MustBlame(422, code, field);
    }

    [Fact]
    public async Task A_time_zone_longer_than_any_path_is_refused()
    {
        var household = await shared.HarbourRowAsync();
        var body = $$"""{"name": "Harbour Row", "currency": "EUR", "timeZone": "{{new string('x', 10_000)}}"}""";

        (await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/household", body)))
            .MustBlame(422, "time-zone-unknown", "timeZone");
    }

    [Fact]
    public async Task All_missing_fields_are_named_at_once()
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(keeper => keeper.PutAsync("/api/household", "{}"));

        Assert.Equal(["currency", "name", "timeZone"],
            refused.MustBeProblem(400, "malformed").GetProperty("errors").EnumerateObject().Select(e => e.Name)
                .Order());
    }
}
