using Microsoft.Playwright;
using Xunit;

namespace CashEvents.Page.Tests;

/// <summary>What is kept behind the sheets: a new household, a month's end, who has what.</summary>
public sealed class BookTests(ChromiumBrowser browser, SharedServer shared)
{
    [ThoroughFact]
    public async Task A_new_household_is_set_up_step_by_step_in_plain_words()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);
        await phone.ReadsAsync("There is no wallet yet.");

        await phone.Page.ClickAsync("text=Start here");
        await FillInAsync(phone, "The household", ("Name", "Quay House"), ("Time zone", "Europe/Dublin"));
        await FillInAsync(phone, "Wallets", ("What is written on it", "Blue wallet"));
        await phone.Page.SelectOptionAsync("label:has-text('In which wallet') select", "Blue wallet");
        await FillInAsync(phone, "Compartments", ("What is written on it", "Market days"));
        await phone.Page.SelectOptionAsync("label:has-text('When') select", "on this day and the last day");
        await FillInAsync(phone, "Who pays", ("Who", "Harbour office"), ("How much", "500,00"),
            ("First on", "2026-11-15"));
        await phone.Page.SelectOptionAsync("section:has(h2:text-is('What each gets on a payday')) select",
            "Market days");
        await FillInAsync(phone, "What each gets on a payday", ("It gets", "90"));

        await phone.ReadsAsync("90.00");
        var source = (await household.Keeper.GetAsync("/api/income-sources")).MustBe(200).Json
            .GetProperty("incomeSources")[0];
        Assert.Equal(("FREQ=MONTHLY;BYMONTHDAY=15,-1", "500.00"),
            (source.GetProperty("rule").GetString(), source.GetProperty("amount").GetRawText()));
        await phone.ReadsAsync("Harbour office, 500.00 on the 15. and the last day of each month");
        await phone.TurnToAsync("Market days");
    }

    [ThoroughFact]
    public async Task Everything_is_changed_later_in_plain_words()
    {
        var household = await shared.HarbourRowAsync();
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.GoAsync("/book/setup");
        await FillInAsync(phone, "What leaves the bank by itself", ("What for", "Quay rent"), ("How much", "640"),
            ("First on", "2026-11-20"));
        await phone.ReadsAsync("Quay rent, 640.00 on the 20. of each month");
        await phone.Page.SelectOptionAsync("section:has(h2:text-is('Bills to save for')) label:has-text('Saved in') "
            + "select",
            "Boat insurance");
        await FillInAsync(phone, "Bills to save for", ("Bill", "Hull"), ("How much", "480"), ("Due", "2027-04-01"));
        await phone.ReadsAsync("Hull, 480.00, Boat insurance, due 1 Apr 2027 every year");
        await phone.Page.SelectOptionAsync("section:has(h2:text-is('Saving steps')) label:has-text('Saved in') select",
            "Rainy day");
        await FillInAsync(phone, "Saving steps", ("First step", "1"), ("Each step more", "1"), ("How many", "4"));
        await phone.ReadsAsync("Rainy day: 4 steps, 10.00 in all");
        await phone.Page.SelectOptionAsync(
            "section:has(h2:text-is('Notes for each compartment')) label:has-text('Compartment') select",
            "Market days");
        await phone.Page.CheckAsync("[aria-label='10 is liked']");
        await phone.Page.ClickAsync("section:has(h2:text-is('Notes for each compartment')) button[type=submit]");
        await phone.Page.Locator("section:has(h2:text-is('Notes for each compartment')) [role=status]").WaitForAsync();
        await phone.Page.SelectOptionAsync("section:has(h2:text-is('Labels, and out of use')) select",
            "compartments/bakery-van");
        await phone.Page.FillAsync("label:has-text('New label') input", "Bread");
        await phone.Page.ClickAsync("text=Relabel it");
        await phone.ReadsAsync("Oilskin wallet: Ferry fares, Market days, Bread");
        await phone.Page.ClickAsync("text=End: Quay rent");
        await phone.Page.Locator("text=End: Quay rent").WaitForAsync(new() { State = WaitForSelectorState.Detached });

        Assert.Empty((await household.Keeper.GetAsync("/api/standing-payments")).MustBe(200).Json
            .GetProperty("standingPayments").EnumerateArray());
        Assert.Equal("[10.00]", (await household.Keeper.GetAsync("/api/compartments/market-days/notes"))
            .MustBe(200).Json
            .GetProperty("prefer").GetRawText());
    }

    [ThoroughFact]
    public async Task Older_months_and_lines_are_fetched_and_said_not_to_be_there_where_the_server_is_away()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "33.30", on: "2026-08-02");
        await household.FillAsync("market-days", "10.00", on: "2026-11-02");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.GoAsync("/book");
        await phone.Page.ClickAsync("button:text-is('Older lines')");
        await phone.Page.Locator("table:has(caption:text-is('Older lines')) tr:has-text('33.30')").WaitForAsync();
        await phone.GoAsync("/sheets/market-days/2026-08");
        await phone.ReadsAsync("33.30");
        await phone.Context.SetOfflineAsync(true);
        await phone.GoAsync("/sheets/market-days/2026-07");
        await phone.ReadsAsync("This needs it.");
        await phone.GoAsync("/sheets/market-days/2026-08");
        await phone.ReadsAsync("The server does not answer. This is as of 15 Nov.");
        await phone.ReadsAsync("33.30");
        await phone.Context.SetOfflineAsync(false);
    }

    [ThoroughFact]
    public async Task A_month_is_closed_with_its_leftovers_swept_after_asking_once()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "10.00", on: "2026-10-02");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper, width: 1280);

        await phone.Page.ClickAsync("nav >> text=Book");
        await phone.Page.ClickAsync("text=Months");
        await phone.Page.ClickAsync("main table a:has-text('October 2026')");
        await phone.ReadsAsync("Market days was not counted");
        await phone.Page.SelectOptionAsync("label:has-text('Leftovers') select", "Rainy day");
        await phone.Page.FillAsync("label:has-text('Why') input", "Counted on paper");
        await phone.Page.ClickAsync("button:text-is('Close the month')");
        await phone.ReadsAsync("Close October 2026?");
        Assert.Equal("10.00", await household.HoldsAsync("market-days"));
        await phone.Page.ClickAsync("button.write:text-is('Close the month')");

        await phone.ReadsAsync("closed by keeper Counted on paper");
        Assert.Equal(("0.00", "10.00"),
            (await household.HoldsAsync("market-days"), await household.HoldsAsync("rainy-day")));
    }

    [ThoroughFact]
    public async Task Cash_is_taken_out_and_brought_back_and_a_wallet_lies_somewhere()
    {
        var household = await shared.HarbourRowAsync();
        await household.IssueAsync("partner", "member");
        await household.FillAsync("market-days", "50.00");
        await using var phone = await PhoneInHand.SignedInAsync(browser, household.Keeper);

        await phone.GoAsync("/book/where");
        await phone.Page.SelectOptionAsync("label:has-text('Wallet') select", "Oilskin wallet");
        await FillInAsync(phone, "Where it is", ("It lies in", "Kitchen drawer"));
        await phone.ReadsAsync("Kitchen drawer, since 15 Nov");
        await phone.Page.SelectOptionAsync("label:has-text('Compartment') select", "market-days");
        await phone.Page.SelectOptionAsync("label:has-text('Who carries it') select", "partner");
        await phone.Page.FillAsync("label:text-is('Amount') input", "20");
        await phone.Page.ClickAsync("section:has-text('Take some out') form:has-text('Who carries it') button");
        await phone.ReadsAsync("partner carries 20.00 of Market days since 15 Nov.");
        await phone.Page.FillAsync("label:has-text('Counted in all') input", "50");
        await phone.Page.ClickAsync("text=It is back");

        await phone.ReadsAsync("Nobody carries any of it.");
    }

    private static async Task FillInAsync(PhoneInHand phone, string heading,
        params (string Label, string Value)[] fields)
    {
        var form = phone.Page.Locator($"section:has(:is(h1, h2):text-is('{heading}')) form").First;
        foreach (var (label, value) in fields)
        {
            await form.Locator($"label:has-text('{label}') input").First.FillAsync(value);
        }

        await form.Locator("button[type=submit]").ClickAsync();
        if (await phone.Page.Locator("h1:text-is('Set up')").CountAsync() > 0)
        {
            var said = phone.Page.Locator("[role=status]:has-text('It is written.'), .refusal").First;
            await said.WaitForAsync();
            Assert.Equal("It is written.", await said.InnerTextAsync());
        }
    }
}
