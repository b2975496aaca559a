// A payday with the package CashEvents.Client, as somebody outside this repository uses it.
using System.Globalization;
using CashEvents.Client;
using CashEvents.Client.Models;
using Microsoft.Kiota.Abstractions;

var (address, serverKey) = (new Uri(args[0]), args[1]);
static string Written(decimal? amount) => amount!.Value.ToString("0.00", CultureInfo.InvariantCulture);

using var host = new CashEventsClient(address, serverKey);
var opened = await host.Api.Households.PostAsync(new NewHouseholdRequest { Name = "Lighthouse Lane" });
using var client = new CashEventsClient(address, opened!.Key!);
var book = client.Api;
await File.WriteAllTextAsync(args[2], opened.Key);

await book.Household.PutAsync(new HouseholdRequest
{
    Name = "Lighthouse Lane", Currency = "EUR", TimeZone = "Europe/Dublin", FirstDayOfWeek = DayOfWeekObject.Monday,
});
await book.Wallets.PostAsync(new WalletRequest { Label = "Oilskin wallet" });
await book.Compartments.PostAsync(
    new CompartmentRequest { Label = "Market days", Wallet = "oilskin-wallet", Purpose = Purpose.Spending });
await book.Compartments.PostAsync(
    new CompartmentRequest { Label = "Rainy day", Wallet = "oilskin-wallet", Purpose = Purpose.Saving });
await book.IncomeSources["harbour-office"].PutAsync(new IncomeSourceRequest
{
    Label = "Harbour office", Rule = "FREQ=MONTHLY;BYMONTHDAY=1", First = new Date(2026, 9, 1),
    NotBankDay = NotBankDay.Next, Amount = 1200.35m,
});
await book.Compartments["market-days"].FillRule.PutAsync(new FillRuleRequest
{
    Kind = FillRuleKind.Fixed, Amount = 190.35m, Holding = Holding.Bank, Rank = 1,
});
await book.Compartments["rainy-day"].FillRule.PutAsync(new FillRuleRequest
{
    Kind = FillRuleKind.Share, Share = 12.5m, Holding = Holding.Bank, Rank = 2,
});

var to = (await book.Today.GetAsync())!.Date!.Value;
var from = new Date(new DateTime(to.Year, to.Month, to.Day).AddDays(-40));
var paydays = await book.Paydays.GetAsync(request =>
    (request.QueryParameters.From, request.QueryParameters.To) = (from, to));

var filled = await book.FillRuns.PostAsync(new FillRunRequest { Payday = paydays!.Paydays![^1].Day });
Console.WriteLine($"filled {Written(filled!.Sums!.Fills)} of {Written(filled.Sums.Pay)}");

var spent = await book.Spends.PostAsync(new SpendRequest
{
    Compartment = "market-days", Holding = Holding.Bank, Amount = 4.20m, Description = "Eggs",
}, request => request.UseIdempotencyKey("eggs"));
Console.WriteLine($"spent, left {Written(spent!.Balances![0].Balance)}");

try
{
    await book.Spends.PostAsync(new SpendRequest { Compartment = "market-days", Amount = 1 });
}
catch (CashEventsProblemException refused)
{
    Console.WriteLine($"refused {refused.Status} {refused.Code}");
}

var counted = await book.Counts.PostAsync(
    new CountRequest { Compartment = "market-days", Holding = Holding.Bank, Total = 186.10m });
Console.WriteLine($"counted, difference {Written(counted!.Difference)}");

var lines = await book.Lines.GetAsync(request =>
    request.QueryParameters.Kind = CashEvents.Client.Api.Lines.GetKindQueryParameterType.Spend);
foreach (var line in lines!.Lines!.Select(line => line.SpendLine).OfType<SpendLine>())
    Console.WriteLine($"line spend {line.Compartment} {Written(line.Amount)}");

foreach (var balance in (await book.Balances.GetAsync())!.Compartments!)
    Console.WriteLine($"{balance.Compartment} {Written(balance.Bank)}");
