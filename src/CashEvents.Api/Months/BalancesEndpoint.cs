namespace CashEvents.Api.Months;

/// <summary>What a compartment holds.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
/// <param name="Cash">Balance of its notes and coins.</param>
/// <param name="Bank">Balance of its part in the bank.</param>
/// <param name="Total">The total of both.</param>
public sealed record CompartmentBalance(string Compartment, string Label, string Wallet, Purpose Purpose, decimal Cash,
    decimal Bank, decimal Total);

/// <summary>What a wallet's compartments hold in total.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Cash">Notes and coins.</param>
/// <param name="Bank">In the bank.</param>
/// <param name="Total">The total of both.</param>
public sealed record WalletBalance(string Wallet, string Label, decimal Cash, decimal Bank, decimal Total);

/// <summary>What the household holds.</summary>
/// <param name="Name">As people call it.</param>
/// <param name="Cash">Notes and coins.</param>
/// <param name="Bank">In the bank.</param>
/// <param name="Total">The total of both.</param>
public sealed record HouseholdBalance(string Name, decimal Cash, decimal Bank, decimal Total);

/// <summary>What there is and where it lies.</summary>
/// <param name="Line">The book's line at which the balances stand.</param>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="Compartments">Each compartment in use.</param>
/// <param name="Wallets">Each wallet in use.</param>
/// <param name="Household">All of it.</param>
public sealed record BalancesAnswer(
    long Line, string? Currency, IReadOnlyList<CompartmentBalance> Compartments, IReadOnlyList<WalletBalance> Wallets,
    HouseholdBalance Household)
{
    /// <summary>A book's balances in this API's words.</summary>
    internal static BalancesAnswer Of(Book book)
    {
        // One that is closed now may have held something on an earlier day.
        var compartments = book.Compartments.Values.Where(
            c => !c.Closed || c.Cash != Money.Zero || c.Bank != Money.Zero).OrderBy(c => c.Line).ToList();
        decimal Say(IEnumerable<Compartment> of, Func<Compartment, Money> what)
        {
            var sum = of.Aggregate(Money.Zero, (total, c) => total + what(c));
            return book.Household?.Currency?.ToDecimal(sum) ?? 0m;
        }

        return new BalancesAnswer(
            book.Line,
            book.Household?.Currency?.Code,
            [
                .. compartments.Select(c => new CompartmentBalance(
                    c.Id, c.Label, c.Wallet, c.Purpose, Say([c], x => x.Cash), Say([c], x => x.Bank),
                    Say([c], x => x.Cash + x.Bank))),
            ],
            [
                .. book.Wallets.Values.OrderBy(w => w.Line)
                    .Select(w => (Wallet: w, In: compartments.Where(c => c.Wallet == w.Id).ToList()))
                    .Where(w => !w.Wallet.Closed || w.In.Count > 0)
                    .Select(w => new WalletBalance(
                        w.Wallet.Id, w.Wallet.Label, Say(w.In, x => x.Cash), Say(w.In, x => x.Bank),
                        Say(w.In, x => x.Cash + x.Bank))),
            ],
            new HouseholdBalance(
                book.Household?.Name ?? "", Say(compartments, x => x.Cash), Say(compartments, x => x.Bank),
                Say(compartments, x => x.Cash + x.Bank)));
    }
}

internal sealed class BalancesEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/balances", async (HttpContext http, Caller caller, string? on, string? atLine, string? at,
            BookReader books) =>
        {
            Reads.OnlyTakes(http, "on", "atLine", "at");
            var book = await books.ReadAsync(caller.Household, Reads.AsOf(on, atLine, at), http.RequestAborted)
                .ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(BalancesAnswer.Of(book));
        })
        .IsHeavy("atLine", "at")
        .Produces<BalancesAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("What there is and where it lies: compartments, wallets, household")
        .WithDescription("`on` asks what was there at the end of a day, by what is known now. `atLine` or `at` "
            + "asks what the book said then, before later lines. Sent with `on`, it asks what the book said then "
            + "of that day.")
        .WithAsOf()
        .WithExample(null, """
            {"line": 61, "currency": "EUR",
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 64.00, "bank": 0.00, "total": 64.00},
               {"compartment": "boat-insurance", "label": "Boat insurance", "wallet": "desk-drawer", "purpose": "sinkingFund", "cash": 40.00, "bank": 200.00, "total": 240.00}],
             "wallets": [
               {"wallet": "oilskin-wallet", "label": "Oilskin wallet", "cash": 64.00, "bank": 0.00, "total": 64.00},
               {"wallet": "desk-drawer", "label": "Desk drawer", "cash": 40.00, "bank": 200.00, "total": 240.00}],
             "household": {"name": "Harbour Row", "cash": 104.00, "bank": 200.00, "total": 304.00}}
            """);
}
