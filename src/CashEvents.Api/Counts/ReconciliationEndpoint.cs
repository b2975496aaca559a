namespace CashEvents.Api.Counts;

/// <summary>A place beside its last count. Without one, the fields about it are absent.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Holding">Cash, which is counted, or bank, which a statement tells.</param>
/// <param name="Balance">What the book says.</param>
public sealed record ReconciledPartAnswer(string Compartment, string Label, string Wallet, Holding Holding,
    decimal Balance)
{
    /// <summary>What the last count found, or the statement told.</summary>
    public decimal? Counted { get; init; }

    /// <summary>Id of that count.</summary>
    public long? CountId { get; init; }

    /// <summary>Its day.</summary>
    public DateOnly? CountedOn { get; init; }

    /// <summary>What came and went since.</summary>
    public decimal? MovedSince { get; init; }

    /// <summary>What should be there: counted, and moved since.</summary>
    public decimal? There { get; init; }

    /// <summary>There minus the balance: over or short that is not settled.</summary>
    public decimal? Difference { get; init; }
}

/// <summary>Sums over some places.</summary>
/// <param name="Counted">What the last counts and statements found.</param>
/// <param name="MovedSince">What came and went since them.</param>
/// <param name="There">The total of both: what should be there of what was ever counted.</param>
/// <param name="NotCounted">Balances that were never counted.</param>
/// <param name="Balance">What the book says of all of it.</param>
/// <param name="Difference">Over or short that is not settled: there + not counted − balance.</param>
public sealed record ReconciliationSumAnswer(decimal Counted, decimal MovedSince, decimal There, decimal NotCounted,
    decimal Balance, decimal Difference)
{
    /// <summary>The day of the oldest count in it; absent when nothing was counted.</summary>
    public DateOnly? OldestCount { get; init; }
}

/// <summary>A wallet's, or the household's, sums.</summary>
/// <param name="Cash">Notes and coins, as counted.</param>
/// <param name="Bank">In the bank, as stated.</param>
/// <param name="Total">The total of both.</param>
public sealed record ReconciliationSumsAnswer(ReconciliationSumAnswer Cash, ReconciliationSumAnswer Bank,
    ReconciliationSumAnswer Total);

/// <summary>A wallet's sums.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Sums">Of its compartments.</param>
public sealed record ReconciledWalletAnswer(string Wallet, string Label, ReconciliationSumsAnswer Sums);

/// <summary>A balance that nobody has counted.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Balance">What the book says.</param>
public sealed record NeverCountedAnswer(string Compartment, Holding Holding, decimal Balance);

/// <summary>What a compartment has in the bank now.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Balance">What the book says.</param>
public sealed record BankPartBalanceAnswer(string Compartment, string Label, decimal Balance);

/// <summary>The total of all bank parts against the bank's last statement.</summary>
/// <param name="StatementId">Id of the statement.</param>
/// <param name="StatedOn">The day whose balance it states.</param>
/// <param name="Stated">What the bank states.</param>
/// <param name="MovedSince">What came and went since.</param>
/// <param name="There">What should be there: stated, and moved since.</param>
/// <param name="Balance">What the book says of all bank parts.</param>
/// <param name="Difference">There minus the balance: over or short that is not settled.</param>
/// <param name="Parts">The compartments that make up the balance.</param>
public sealed record ReconciledBankAnswer(
    long StatementId, DateOnly StatedOn, decimal Stated, decimal MovedSince, decimal There, decimal Balance,
    decimal Difference, IReadOnlyList<BankPartBalanceAnswer> Parts);

/// <summary>The book's balances against what was counted and what the bank states.</summary>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="Wallets">Each wallet in use.</param>
/// <param name="Household">The grand total.</param>
/// <param name="NeverCounted">Balances that were never counted; they are no part of what should be there.</param>
/// <param name="Places">Each place that holds something or was ever counted.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record ReconciliationAnswer(
    string? Currency, IReadOnlyList<ReconciledWalletAnswer> Wallets, ReconciliationSumsAnswer Household,
    IReadOnlyList<NeverCountedAnswer> NeverCounted, IReadOnlyList<ReconciledPartAnswer> Places, long BookLine)
{
    /// <summary>
    /// The total of the bank parts against the bank's last statement; absent when none was read, or a bank part was
    /// counted by itself on a later day.
    /// </summary>
    public ReconciledBankAnswer? Bank { get; init; }

    /// <summary>What whoever keeps cash at home should know; absent when there is nothing.</summary>
    public IReadOnlyList<CautionAnswer>? Cautions { get; init; }

    internal static ReconciliationAnswer Of(Book book)
    {
        var currency = book.Household?.Currency;
        var parts = Reconciliation.Of(book).ToList();
        var bank = Reconciliation.BankOf(book);
        return new ReconciliationAnswer(
            currency?.Code,
            [.. book.Wallets.Values.Where(w => !w.Closed).OrderBy(w => w.Line)
                .Select(w => new ReconciledWalletAnswer(w.Id, w.Label,
                    Sums(parts.FindAll(p => p.Compartment.Wallet == w.Id))))],
            bank is null ? Sums(parts) : WithStatement(bank),
            [.. parts.Where(p => p.NotCounted != Money.Zero && (bank is null || p.Holding == Holding.Cash))
                .Select(p => new NeverCountedAnswer(p.Compartment.Id, p.Holding, Say(p.Balance)))],
            [.. parts.Select(Place)],
            book.Line)
        {
            Bank = bank is null ? null : new ReconciledBankAnswer(
                bank.Statement.Line, bank.Statement.OccurredOn, Say(bank.Statement.Stated), Say(bank.MovedSince),
                Say(bank.There), Say(bank.Balance), Say(bank.Difference),
                [.. parts.Where(p => p.Holding == Holding.Bank && p.Balance != Money.Zero)
                    .Select(p => new BankPartBalanceAnswer(p.Compartment.Id, p.Compartment.Label, Say(p.Balance)))]),
            Cautions = CautionAnswer.Of(Caution.AtHome(book), currency),
        };

        decimal Say(Money money) => currency?.ToDecimal(money) ?? 0m;

        ReconciliationSumsAnswer Sums(List<ReconciledPart> of) =>
            new(Sum(of.FindAll(p => p.Holding == Holding.Cash)), Sum(of.FindAll(p => p.Holding == Holding.Bank)),
                Sum(of));

        // The statement vouches for the total of all bank parts, and for none alone.
        ReconciliationSumsAnswer WithStatement(ReconciledBank stated)
        {
            var cash = Sum(parts.FindAll(p => p.Holding == Holding.Cash));
            var inBank = new ReconciliationSumAnswer(Say(stated.Statement.Stated), Say(stated.MovedSince),
                Say(stated.There), Say(Money.Zero), Say(stated.Balance),
                Say(stated.Difference))
            { OldestCount = stated.Statement.OccurredOn };
            return new ReconciliationSumsAnswer(cash, inBank, new ReconciliationSumAnswer(
                cash.Counted + inBank.Counted, cash.MovedSince + inBank.MovedSince, cash.There + inBank.There,
                cash.NotCounted, cash.Balance + inBank.Balance, cash.Difference + inBank.Difference)
            { OldestCount = cash.OldestCount < inBank.OldestCount ? cash.OldestCount : inBank.OldestCount });
        }

        ReconciliationSumAnswer Sum(List<ReconciledPart> of)
        {
            decimal Total(Func<ReconciledPart, Money> what) =>
                Say(of.Aggregate(Money.Zero, (sum, p) => sum + what(p)));
            return new ReconciliationSumAnswer(Total(p => p.Count?.Counted ?? Money.Zero), Total(p => p.MovedSince),
                Total(p => p.There), Total(p => p.NotCounted), Total(p => p.Balance), Total(p => p.Difference))
            {
                OldestCount = Reconciliation.OldestCount(of),
            };
        }

        ReconciledPartAnswer Place(ReconciledPart part)
        {
            var answer = new ReconciledPartAnswer(part.Compartment.Id, part.Compartment.Label,
                part.Compartment.Wallet, part.Holding, Say(part.Balance));
            return part.Count is not { } count ? answer : answer with
            {
                Counted = Say(count.Counted),
                CountId = count.Line,
                CountedOn = count.OccurredOn,
                MovedSince = Say(part.MovedSince),
                There = Say(part.There),
                Difference = Say(part.Difference),
            };
        }
    }
}

internal sealed class ReconciliationEndpoint : IEndpoints
{
    private static readonly string[] _heading =
        ["wallet", "compartment", "holding", "counted", "countedOn", "movedSince", "there", "balance", "difference"];

    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/reconciliation", async (HttpContext http, Caller caller, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var answer = ReconciliationAnswer.Of(book);
            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Csv) == Form.Csv
                ? await Csv.OfAsync(_heading, answer.Places.Select(p =>
                    (IReadOnlyList<object?>)[p.Wallet, p.Compartment, p.Holding, p.Counted, p.CountedOn, p.MovedSince,
                        p.There, p.Balance, p.Difference])).ConfigureAwait(false)
                : TypedResults.Ok(answer);
        })
        .Produces<ReconciliationAnswer>(StatusCodes.Status200OK, "application/json", "text/csv")
        .RefusesReads()
        .WithSummary("The book's balances against what was counted and what the bank states, wallet by wallet, and the "
            + "grand total")
        .WithDescription("Cash stands by its last count, the one of the latest day, and what moved since. The bank "
            + "parts stand "
            + "as one total by the bank's last statement (POST /api/bank-statements); `bank` tells the compartments "
            + "that make it up. While a bank part was counted by itself on a later day, bank parts stand by their "
            + "own counts. The grand total has the date of the oldest count in it and what was never counted. The "
            + "CSV has no cautions.")
        .WithExample(null, """
            {"currency": "EUR",
             "wallets": [{"wallet": "oilskin-wallet", "label": "Oilskin wallet", "sums": {
               "cash": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"},
               "bank": {"counted": 0.00, "movedSince": 0.00, "there": 0.00, "notCounted": 0.00, "balance": 0.00, "difference": 0.00},
               "total": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"}}}],
             "household": {
               "cash": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"},
               "bank": {"counted": 0.00, "movedSince": 0.00, "there": 0.00, "notCounted": 0.00, "balance": 0.00, "difference": 0.00},
               "total": {"counted": 63.00, "movedSince": -8.40, "there": 54.60, "notCounted": 20.00, "balance": 75.60, "difference": -1.00, "oldestCount": "2026-11-03"}},
             "neverCounted": [{"compartment": "market-days", "holding": "cash", "balance": 20.00}],
             "places": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "holding": "cash", "balance": 55.60, "counted": 63.00, "countId": 61, "countedOn": "2026-11-03", "movedSince": -8.40, "there": 54.60, "difference": -1.00},
               {"compartment": "market-days", "label": "Market days", "wallet": "oilskin-wallet", "holding": "cash", "balance": 20.00}],
             "bookLine": 64}
            """);
}
