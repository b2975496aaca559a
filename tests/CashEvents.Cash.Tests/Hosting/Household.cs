namespace CashEvents.Cash.Tests.Hosting;

/// <summary>A household of a test's own.</summary>
/// <param name="address">The server of its book.</param>
/// <param name="key">Its keeper's key.</param>
internal sealed class Household(Uri address, string key)
{
    public const string SetUp = """
        {"household": {"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "monday", "country": "IE", "smallestNote": 5.00, "largestNote": 50.00},
         "wallets": {"oilskin-wallet": {"label": "Oilskin wallet"}, "desk-drawer": {"label": "Desk drawer"}},
         "compartments": {
           "ferry-fares": {"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"},
           "market-days": {"label": "Market days", "wallet": "oilskin-wallet", "purpose": "spending"},
           "bakery-van": {"label": "Bakery van", "wallet": "oilskin-wallet", "purpose": "spending"},
           "boat-insurance": {"label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund"},
           "rainy-day": {"label": "Rainy day", "wallet": "desk-drawer", "purpose": "saving"}},
         "plan": {"2026-W40": {"ferry-fares": 25.00, "market-days": 40.00, "bakery-van": 12.00}},
         "incomeSources": {"harbour-office": {"label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=1", "first": "2026-10-01", "notBankDay": "next", "amount": 1200.00}},
         "fillRules": {
           "ferry-fares": {"kind": "weekly", "holding": "cash", "rank": 1, "roundTo": 5.00},
           "market-days": {"kind": "weekly", "holding": "cash", "rank": 1, "roundTo": 5.00},
           "boat-insurance": {"kind": "contribution", "rank": 2}},
         "goals": {"hull-insurance": {"compartment": "boat-insurance", "label": "Hull insurance", "amount": 480.00, "due": "2029-04-01", "every": "P1Y"}}}
        """;

    public Uri Address => address;

    public string Key => key;

    /// <summary>A client with the keeper's key.</summary>
    public CashEventsClient Keeper { get; } = new(address, key);

    /// <summary>A client with the keeper's key, over a handler of the test's own.</summary>
    public CashEventsClient Over(HttpMessageHandler inner, TimeProvider? clock = null) => new(address, key,
        new CashEventsClientOptions { Inner = inner, Clock = clock ?? new NoPauses() });

    public Task FillAsync(string compartment, decimal amount) => Keeper.Api.Fills.PostAsync(
        new FillRequest { Compartment = compartment, Amount = amount, Description = "Drawn" });

    /// <summary>What a compartment holds in cash.</summary>
    public async Task<decimal> CashAsync(string compartment) =>
        (await Keeper.Api.Compartments[compartment].GetAsync())!.Cash!.Value;

    /// <summary>The book's last line.</summary>
    public async Task<long> LineAsync() => (await Keeper.Api.Household.GetAsync())!.Line!.Value;
}
