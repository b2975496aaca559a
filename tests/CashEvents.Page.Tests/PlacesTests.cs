using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Page.Tests;

/// <summary>The other places of the page: counting, paydays, what is ahead, keys.</summary>
public sealed partial class PlacesTests(ChromiumBrowser browser, SharedServer shared)
{
    [ThoroughFact]
    public async Task A_count_that_is_short_is_explained_and_put_right_by_a_button()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "100.00");
        await household.SpendAsync("market-days", "9.60", description: "Cheese");
        await household.SpendAsync("market-days", "9.60", description: "Cheese");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper, width: 1280);

        await phone.Page.ClickAsync("nav >> text=Count");
        await phone.Page.ClickAsync("text=Market days");
        await phone.Page.ClickAsync("text=Do not show what the book says");
        Assert.DoesNotContain("80.80", await phone.Page.InnerTextAsync("main"));
        await phone.Page.FillAsync("[aria-label='How many of 20']", "4");
        foreach (var face in new[] { "10", "0.20", "0.20" })
        {
            await phone.Page.ClickAsync($"[aria-label='One {face} more']");
        }

        await phone.Page.ClickAsync("button.write");
        await phone.ReadsAsync("Over");
        await phone.ReadsAsync("9.60");
        await phone.Page.ClickAsync(".explanation:has-text('twice') button");

        await phone.ReadsAsync("The book and the notes agree.");
        Assert.Equal("90.40", await household.HoldsAsync("market-days"));
        Assert.StartsWith("Market days Counted 90.40 on 15 Nov 2026, by keeper. line ",
            Blanks().Replace(await phone.Page.InnerTextAsync(".slip"), " "), StringComparison.Ordinal);
        await phone.Page.EmulateMediaAsync(new() { Media = Media.Print });
        Assert.StartsWith("Market days Counted", Blanks().Replace(await phone.Page.InnerTextAsync("body"), " ").Trim(),
            StringComparison.Ordinal);
        var count = (await household.LinesAsync()).Single(line => line.GetProperty("kind").GetString() == "count");
        Assert.Equal("90.40", count.GetProperty("counted").GetRawText());
    }

    [ThoroughFact]
    public async Task An_explanation_says_why_and_where_to_look_and_the_line_that_it_may_be_is_put_right()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "40.00");
        await household.FillAsync("bakery-van", "40.00");
        await household.SpendAsync("bakery-van", "11.70", description: "Rolls");
        var line = (await household.LinesAsync())[^1].GetProperty("line").GetInt64();
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.GoAsync("/count/market-days");
        await phone.Page.FillAsync("[aria-label='How many of 20']", "1");
        foreach (var face in new[] { "5", "2", "1", "0.20", "0.10" })
        {
            await phone.Page.ClickAsync($"[aria-label='One {face} more']");
        }

        await phone.Page.ClickAsync("button.write");
        await phone.ReadsAsync($"Look first whether line {line} is the same spend.");
        var told = Blanks().Replace(await phone.Page.InnerTextAsync("main"), " ");
        Assert.Matches("(Nearly sure|About [1-9] in 10): A spend of 11\\.70 EUR .* was not recorded\\.", told);
        Assert.Contains("The whole of it, 11.70 EUR, ", told, StringComparison.Ordinal);
        Assert.DoesNotMatch("[0-9]{4}-[0-9]{2}-[0-9]{2}|'[a-z-]+'", told);
        Assert.Matches("something else, such as money lost or found\\.|Hardly anything else\\.", told);
        Assert.Contains("Which count would decide Count the cash of Bakery van too: ", told, StringComparison.Ordinal);
        Assert.Equal("/count/bakery-van",
            await phone.Page.GetAttributeAsync("a.button:has-text('Count: Bakery van')", "href"));
        await phone.Page.ClickAsync($".explanation button:has-text('It is line {line}')");

        await phone.ReadsAsync("The book and the notes agree.");
        Assert.Equal(("28.30", "40.00"),
            (await household.HoldsAsync("market-days"), await household.HoldsAsync("bakery-van")));
    }

    [ThoroughFact]
    public async Task A_count_that_nothing_explains_is_entered_as_short_with_a_reason()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "10.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.GoAsync("/count/market-days");
        await phone.Page.ClickAsync("[aria-label='One 5 more']");
        await phone.Page.ClickAsync("[aria-label='One 2 more']");
        await phone.Page.ClickAsync("button.write");
        await phone.ReadsAsync("Or accept it");
        await phone.Page.FillAsync("label:has-text('Why') input", "Gone over the rail");
        await phone.Page.ClickAsync("text=Enter 3.00 short");

        await phone.ReadsAsync("It is entered.");
        await phone.InInkAsync();
        Assert.Equal("7.00", await household.HoldsAsync("market-days"));
        Assert.Equal("settlement", (await household.LinesAsync())[^1].GetProperty("kind").GetString());
    }

    [Theory]
    [InlineData(390)]
    [ThoroughData(1280)]
    public async Task A_payday_is_worked_out_changed_filled_once_and_packed(int width)
    {
        var household = await PaidMonthlyAsync();
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper, width);

        await phone.Page.ClickAsync("nav >> text=Payday");
        await phone.ReadsAsync("Payday, Fri 13 Nov");
        await phone.ReadsAsync("Quay rent");
        await phone.Page.FillAsync("label:has-text('Paid this time') input", "700");
        await phone.Page.ClickAsync("text=Work it out again");
        await phone.ReadsAsync("700.00");
        await phone.ReadsAsync("60.00");
        await phone.Page.FillAsync("[aria-label='Ferry fares, in cash']", "61");
        await phone.Page.PressAsync("[aria-label='Ferry fares, in cash']", "Tab");
        await phone.ReadsAsync("That is more than there is to share out.");
        await phone.Page.FillAsync("[aria-label='Ferry fares, in cash']", "45");
        await phone.Page.PressAsync("[aria-label='Ferry fares, in cash']", "Tab");
        await phone.ReadsAsync("15.00 less than by its rule");
        await phone.ReadsAsync("2 × 20, 1 × 5");
        // It is taken to the bank before anything is filled. A page opens by a plain link where somebody is signed in.
        var slip = await phone.Context.RunAndWaitForPageAsync(() => phone.Page.ClickAsync("text=Print the slip"));
        Assert.Contains("Ferry fares 2 1 45.00", Blanks().Replace(await slip.InnerTextAsync("table.packing"), " "),
            StringComparison.Ordinal);
        await slip.CloseAsync();
        await phone.Page.ClickAsync("text=Fill the compartments");
        await phone.ReadsAsync("Filled 13 Nov, by keeper.");
        await phone.Page.CheckAsync("label.packing:has-text('Ferry fares') input");
        await phone.Page.WaitForFunctionAsync("""
            () => new Promise(done => { const asked = indexedDB.open('cashevents'); asked.onsuccess = () => {
              const kept = asked.result.transaction('shown').objectStore('shown').get('packed/2026-11-13');
              kept.onsuccess = () => { asked.result.close(); done(Boolean(kept.result)); }; }; })
            """);

        await phone.ReopenAsync("/payday/2026-11-13");
        await phone.ReadsAsync("Packing list");
        Assert.True(await phone.Page.IsCheckedAsync("label.packing:has-text('Ferry fares') input"));
        Assert.Equal("45.00", await household.HoldsAsync("ferry-fares"));
        Assert.Single(await household.LinesAsync(), line => line.GetProperty("kind").GetString() == "fillRun");
    }

    [ThoroughFact]
    public async Task A_blind_round_is_counted_by_two_people_on_a_phone_each()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        await household.FillAsync("market-days", "81.70");
        await household.FillAsync("ferry-fares", "20.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.Page.ClickAsync("nav >> text=Count");
        await phone.Page.SelectOptionAsync("label:has-text('Wallet') select", "Oilskin wallet");
        await phone.Page.ClickAsync("text=Begin a round");
        await phone.ReadsAsync("Blind: what the book says");
        await phone.Page.ClickAsync("main table >> text=Market days");
        Assert.DoesNotContain("81.70", await phone.Page.InnerTextAsync("main"));
        await phone.Page.FillAsync("[aria-label='How many of 20']", "4");
        await phone.Page.ClickAsync("[aria-label='One 2 more']");
        await phone.Page.ClickAsync("button.write");
        await phone.ReadsAsync("81.70");
        await phone.Page.ClickAsync("text=Back to the round");
        await phone.ReadsAsync("somebody else confirms it");

        // The other phone counts, and what it writes shows here.
        var round = phone.Page.Url.Split('/')[^1];
        (await partner.PostAsync($"/api/count-rounds/{round}/counts",
            """{"compartment": "ferry-fares", "denominations": {"20": 1}}""")).MustBe(201);
        (await partner.PostAsync($"/api/count-rounds/{round}/confirmations", """{"compartments": ["market-days"]}"""))
            .MustBe(201);
        await phone.ReadsAsync("confirmed by partner");
        await phone.Page.CheckAsync("tr:has-text('Ferry fares') input");
        await phone.Page.ClickAsync("text=Confirm what is ticked");
        await phone.ReadsAsync("confirmed by keeper");
        await phone.Page.FillAsync("label:has-text('Why 1 are not counted') input", "The van is out");
        await phone.Page.ClickAsync("text=Close the round");

        await phone.ReadsAsync("This round is closed.");
        var told = (await household.Keeper.GetAsync($"/api/count-rounds/{round}")).MustBe(200).Json;
        Assert.Equal(["keeper partner", "partner keeper", " "], told.GetProperty("compartments").EnumerateArray()
            .Select(c => Said(c, "by") + " " + Said(c, "confirmedBy")).Order(StringComparer.Ordinal)
            .OrderByDescending(said => said.Length).ThenBy(said => said));
        static string Said(System.Text.Json.JsonElement of, string what) =>
            of.TryGetProperty(what, out var said) ? said.GetString()! : "";
    }

    [ThoroughFact]
    public async Task What_is_ahead_is_told_with_its_steps_to_tick_off()
    {
        var household = await PaidMonthlyAsync();
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day", """{"first": 1.00, "growth": 1.00, "count": 2}"""))
            .MustBe(200);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull", "amount": 480.00, "due": "2027-04-01"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Mooring", "amount": 20.00, "due": "2026-12-20"}"""))
            .MustBe(201);
        await household.FillAsync("boat-insurance", "30.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.Page.ClickAsync("nav >> text=Ahead");
        await phone.ReadsAsync("The first day on which something is short is");
        await phone.ReadsAsync("1 Mooring, 20.00 on 20 Dec 2026");
        Assert.Equal(1, await phone.Page.Locator("figure:has-text('Boat insurance') path.mark").CountAsync());
        await phone.Page.ClickAsync("text=Put 1.00 in");

        await phone.ReadsAsync("Put 2.00 in");
        Assert.Equal("1.00", await household.HoldsAsync("rainy-day"));
        await phone.Page.ClickAsync("text=All steps");
        await phone.Page.ClickAsync("[aria-label='Step 2, 2.00, is done']");
        await phone.ReadsAsync("All done");
        Assert.Equal("3.00", await household.HoldsAsync("rainy-day"));
    }

    [ThoroughFact]
    public async Task A_phone_is_paired_by_a_code_and_signed_out_by_revoking_its_key()
    {
        var household = await shared.HarbourRowAsync();
        string code;
        await using (var keeper = await PhoneInHand.SignedInAsync(browser, household.Keeper))
        {
            await keeper.GoAsync("/book/keys");
            await keeper.Page.FillAsync("label:has-text('Whose phone') input", "partner's phone");
            await keeper.Page.ClickAsync("text=Show the code");
            await keeper.Page.WaitForSelectorAsync(".qr svg");
            code = (await keeper.Page.InnerTextAsync("p.small >> text=/enter#/")).Split('#')[1].Trim();
        }

        await using var phone = await PhoneInHand.OpenAsync(browser, household.Keeper.Address, path: "/enter#" + code);
        await phone.Page.WaitForSelectorAsync(".frame");
        Assert.DoesNotContain(code, phone.Page.Url, StringComparison.Ordinal);
        await phone.Page.ClickAsync("nav >> text=Book");
        await phone.ReadsAsync("Signed in as partner's phone.");
        Assert.Equal(0, await phone.Page.Locator("text=Keys and phones").CountAsync());

        (await household.Keeper.DeleteAsync("/api/keys/partner's%20phone")).MustBe(204);
        await phone.ReopenAsync();
        await phone.ReadsAsync("This phone is signed out");
    }

    [ThoroughFact]
    public async Task The_link_that_the_program_prints_opens_the_page_as_keeper_once()
    {
        var household = await shared.HarbourRowAsync();
        var link = "/enter#" + (await shared.ServerAsync()).Services.GetRequiredService<OneTimeCodes>()
            .Issue(new KeepersLink(KeyRing.Hash(household.Keeper.Key!)));

        await using (var first = await PhoneInHand.OpenAsync(browser, household.Keeper.Address, path: link))
        {
            await first.ReadsAsync("Oilskin wallet");
            Assert.Equal(first.Address + "/", first.Page.Url);
        }

        await using var second = await PhoneInHand.OpenAsync(browser, household.Keeper.Address, path: link);
        await second.ReadsAsync("This code was used or is too old.");
    }

    private async Task<Household> PaidMonthlyAsync()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/income-sources/harbour-office", """
            {"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=13", "first": "2026-11-13", "notBankDay": "next", "amount": 1000.00}
            """)).MustBe(200);
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent", """
            {"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=20", "first": "2026-11-20", "notBankDay": "next", "amount": 640.00}
            """)).MustBe(200);
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/fill-rule",
            """{"kind": "fixed", "amount": 120.00}""")).MustBe(200);
        return household;
    }

    [GeneratedRegex(@"\s+")]
    private static partial Regex Blanks();
}
