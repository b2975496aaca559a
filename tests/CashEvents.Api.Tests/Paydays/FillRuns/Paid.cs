namespace CashEvents.Api.Tests.Paydays;

/// <summary>What a household needs for a payday: who pays, what the bank pays by itself, and a rule or two.</summary>
internal static class Paid
{
    /// <summary>
    /// Paid 1,000.00 on the last bank day of each month, of which 640.00 and 150.00 leave the bank by themselves early
    /// in the next.
    /// </summary>
    public static async Task<Household> PaidMonthlyAsync(this Household household)
    {
        await household.SourceAsync("harbour-office", "FREQ=MONTHLY;BYMONTHDAY=-1", "2026-09-30", "1000.00");
        (await household.Keeper.PutAsync("/api/standing-payments/quay-rent",
            """{"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640.00}""")).MustBe(200);
        (await household.Keeper.PutAsync("/api/standing-payments/nest-egg",
            """{"kind": "automaticSaving", "label": "Nest egg", "rule": "FREQ=MONTHLY;BYMONTHDAY=1", "first": "2026-09-01", "notBankDay": "next", "amount": 150.00}""")).MustBe(200);
        return household;
    }

    /// <summary>Somebody pays; <c>null</c> as it comes.</summary>
    public static async Task SourceAsync(this Household household, string id, string rule, string first,
        string amount) =>
        (await household.Keeper.PutAsync($"/api/income-sources/{id}",
            $$"""{"label": "{{id}}", "rule": "{{rule}}", "first": "{{first}}", "notBankDay": "previous", "amount": {{amount}}}""")).MustBe(200);

    /// <summary>A compartment gets a fill rule.</summary>
    public static async Task RuleAsync(this Household household, string compartment, string rule) =>
        (await household.Keeper.PutAsync($"/api/compartments/{compartment}/fill-rule", rule)).MustBe(200);

    /// <summary>A payday is filled, or asked what it would come to.</summary>
    public static Task<Reply> FillPaydayAsync(this Household household, string payday = "2026-10-30",
        string more = "") =>
        household.Keeper.PostAsync("/api/fill-runs", $$"""{"payday": "{{payday}}"{{more}}}""");
}
