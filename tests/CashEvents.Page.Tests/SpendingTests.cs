using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Page.Tests;

/// <summary>Spending with a phone in hand: in the shop, without a network, beside others.</summary>
public sealed class SpendingTests(ChromiumBrowser browser, SharedServer shared)
{
    [Fact]
    public async Task A_spend_takes_four_taps_and_its_digits()
    {
        var household = await MarketDaysAsync();
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.Page.TapAsync("main table >> text=\"Market days\"");
        await phone.Page.TapAsync("#amount");
        foreach (var digit in new[] { "6", ".", "2", "0" })
        {
            await phone.Page.TapAsync($".keypad button:text-is(\"{digit}\")");
        }

        await phone.Page.TapAsync(".recent button");
        await phone.Page.TapAsync("button.write");

        await phone.ReadsAsync("84.20");
        await phone.InInkAsync();
        Assert.Equal(["Paid | 100.00 | 100.00", "Cheese | −9.60 | 90.40", "Cheese | −6.20 | 84.20"],
            await phone.RowsAsync());
        var line = (await household.LinesAsync())[^1];
        Assert.Equal(("spend", "Cheese", "2026-11-15"), (line.GetProperty("kind").GetString(),
            line.GetProperty("description").GetString(), line.GetProperty("occurredOn").GetString()));
    }

    [Fact]
    public async Task Where_the_server_is_away_the_books_own_rules_decide_and_all_is_sent_once_when_it_is_back()
    {
        var household = await MarketDaysAsync();
        await household.FillAsync("ferry-fares", "20.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.KeptForOfflineAsync();
        await phone.Context.SetOfflineAsync(true);

        await phone.TurnToAsync("Market days");
        await phone.SpendAsync("80,00", "Boots");
        await phone.SpendAsync("15.00", "Socks");
        await phone.ReadsAsync("10.40 is there, and 4.60 is missing.");
        await phone.Page.ClickAsync("text=Take the other 4.60 from Ferry fares");
        string[] pencilled = ["Paid | 100.00 | 100.00", "Cheese | −9.60 | 90.40", "○ Boots | −80.00 | 10.40",
            "○ Socks | 4.60 | 15.00", "○ Socks | −15.00 | 0.00"];
        await phone.ReadsAsync("2 lines in pencil");
        Assert.Equal(pencilled, await phone.RowsAsync());

        await phone.ReopenAsync("/sheets/market-days");
        await phone.ReadsAsync("2 lines in pencil");
        Assert.Equal(pencilled, await phone.RowsAsync());
        var before = await household.LineAsync();

        await phone.Context.SetOfflineAsync(false);
        await phone.InInkAsync();
        Assert.Equal(pencilled.Select(row => row.Replace("○ ", "")), await phone.RowsAsync());
        Assert.Equal(["Boots", "Socks", "Socks"], (await household.LinesAsync($"after={before}"))
            .Select(line => line.GetProperty("description").GetString()!));
    }

    [ThoroughFact]
    public async Task What_was_sent_when_the_page_was_killed_is_written_once()
    {
        var household = await MarketDaysAsync();
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.TurnToAsync("Market days");
        var arrived = new TaskCompletionSource();
        await phone.Page.RouteAsync("**/api/spends", async route =>
        {
            await route.FetchAsync();
            arrived.TrySetResult();
            await route.AbortAsync();
        });
        await phone.SpendAsync("7.50", "Bread");
        await arrived.Task;

        await phone.ReopenAsync("/sheets/market-days");

        await phone.InInkAsync();
        Assert.Equal("Bread | −7.50 | 82.90", (await phone.RowsAsync())[^1]);
        Assert.Single(await household.LinesAsync(),
            line => line.TryGetProperty("description", out var what) && what.GetString() == "Bread");
    }

    [ThoroughFact]
    public async Task What_somebody_else_spent_meanwhile_comes_back_with_its_mends()
    {
        var household = await MarketDaysAsync();
        await household.FillAsync("ferry-fares", "20.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.Context.SetOfflineAsync(true);
        await phone.TurnToAsync("Market days");
        await phone.SpendAsync("80.00", "Boots");
        await phone.ReadsAsync("1 line in pencil");
        await household.SpendAsync("market-days", "20.00", on: "2026-11-15");

        await phone.Context.SetOfflineAsync(false);

        await phone.ReadsAsync("Came back");
        Assert.Contains("Boots", await phone.Page.InnerTextAsync(".returned s"));
        await phone.Page.ClickAsync("text=Take the other 9.60 from Ferry fares");
        await phone.Page.WaitForSelectorAsync(".returned", new() { State = WaitForSelectorState.Detached });
        await phone.InInkAsync();
        Assert.Equal("0.00", await household.HoldsAsync("market-days"));
        Assert.Equal("10.40", await household.HoldsAsync("ferry-fares"));
    }

    [ThoroughFact]
    public async Task Another_persons_line_shows_by_itself_and_a_wrong_line_is_put_right_or_undone()
    {
        var household = await MarketDaysAsync();
        var partner = await household.IssueAsync("partner", "member");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.TurnToAsync("Market days");

        (await partner.PostAsync("/api/spends",
            """{"compartment": "market-days", "amount": 3.30, "description": "Eggs"}""")).MustBe(201);
        await phone.Page.ClickAsync("button.words:text-is(\"Eggs\")");
        await phone.Page.ClickAsync("text=This was wrong");
        await phone.Page.FillAsync("#amount", "2.30");
        await phone.Page.ClickAsync("text=Put it right");
        await phone.ReadsAsync("88.10");
        await phone.InInkAsync();
        Assert.Equal(["Eggs | −3.30 | ", "Eggs | −2.30 | 88.10"], (await phone.RowsAsync()).Skip(2));

        await phone.Page.ClickAsync("button.words:text-is(\"Eggs\")");
        await phone.Page.ClickAsync("text=Undo it");
        await phone.Page.WaitForFunctionAsync(
            "() => document.querySelectorAll('tr.undone').length === 2 && !document.querySelector('tr.pencil')");
        Assert.Equal("90.40", await household.HoldsAsync("market-days"));
    }

    [ThoroughFact]
    public async Task What_is_pencilled_survives_a_revoked_key_and_is_sent_by_who_signs_in_next()
    {
        var household = await MarketDaysAsync();
        var partner = await household.IssueAsync("partner", "member");
        await using var phone = await PhoneInHand.SignedInAsync(browser, partner);
        await phone.Context.SetOfflineAsync(true);
        await phone.TurnToAsync("Market days");
        await phone.SpendAsync("5.00", "Flowers");
        await phone.ReadsAsync("1 line in pencil");
        (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        await phone.Context.SetOfflineAsync(false);
        await phone.ReadsAsync("This phone is signed out");
        Assert.Equal("90.40", await household.HoldsAsync("market-days"));

        var again = await household.IssueAsync("partner-2", "member");
        await phone.Page.FillAsync("input[type=password]", again.Key!);
        await phone.Page.ClickAsync("text=Sign in");
        await phone.InInkAsync();
        Assert.Equal("85.40", await household.HoldsAsync("market-days"));
        Assert.Equal("partner-2", (await household.LinesAsync())[^1].GetProperty("by").GetString());
    }

    private async Task<Household> MarketDaysAsync()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/fills", """
            {"compartment": "market-days", "amount": 100.00, "occurredOn": "2026-11-02", "description": "Paid"}
            """)).MustBe(201);
        await household.SpendAsync("market-days", "9.60", description: "Cheese");
        return household;
    }
}
