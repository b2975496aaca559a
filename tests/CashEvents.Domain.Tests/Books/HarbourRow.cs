namespace CashEvents.Domain.Tests.Books;

/// <summary>A household on a quay that keeps its book in euro, and the lines it writes.</summary>
internal static class HarbourRow
{
    public const string Ferry = "ferry-fares";
    public const string Market = "market-days";
    public const string Van = "bakery-van";
    public const string Boat = "boat-insurance";

    /// <summary>A Thursday.</summary>
    public static DateOnly Today { get; } = Sept(24);

    public static IBookEvent[] Opening { get; } =
    [
        new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday),
        new WalletOpened("market-bag", "Market bag"),
        new WalletOpened("strongbox", "Strongbox"),
        new CompartmentOpened(Ferry, "Ferry fares", "market-bag", Purpose.Spending),
        new CompartmentOpened(Market, "Market days", "market-bag", Purpose.Spending),
        new CompartmentOpened(Van, "Bakery van", "strongbox", Purpose.Saving),
        new CompartmentOpened(Boat, "Boat insurance", "strongbox", Purpose.SinkingFund),
    ];

    /// <summary>The number that the first line after the opening gets.</summary>
    public static long FirstLine => Opening.Length + 1;

    public static DateOnly Sept(int day) => new(2026, 9, day);

    public static Money Eur(decimal amount) => Currency.Of("EUR").Exactly(amount, "amount");

    public static Part Cash(string compartment) => new(compartment, Holding.Cash);

    public static Part Bank(string compartment) => new(compartment, Holding.Bank);

    public static Filled Fill(string compartment, decimal amount, DateOnly? on = null,
        Holding holding = Holding.Cash) =>
        new(compartment, holding, Eur(amount), on ?? Today, "");

    public static Spent Spend(string compartment, decimal amount, DateOnly? on = null, Holding holding = Holding.Cash,
        string description = "") =>
        new(compartment, holding, Eur(amount), on ?? Today, description);

    public static Refunded Refund(string compartment, decimal amount, DateOnly? on = null,
        Holding holding = Holding.Cash) =>
        new(compartment, holding, Eur(amount), on ?? Today, "");

    public static Transferred Transfer(Part from, Part to, decimal amount, DateOnly? on = null,
        string description = "") =>
        new(from, to, Eur(amount), on ?? Today, description);

    public static Swept Sweep(Part from, Part to, decimal amount, DateOnly? on = null) =>
        new(from, to, Eur(amount), on ?? Today, "");

    public static CountTaken Count(string compartment, decimal expected, decimal counted, DateOnly? on = null,
        Holding holding = Holding.Cash) =>
        new(compartment, holding, Eur(expected), Eur(counted), [], on ?? Today, "", "");

    public static CountSettled Settle(long count, string compartment, decimal difference, DateOnly? on = null,
        string reason = "agreed", Holding holding = Holding.Cash) =>
        new(count, compartment, holding, Eur(difference), on ?? Today, reason);

    /// <summary>A line undone, on its own day or, when that is closed, on another.</summary>
    public static Reversed Reversed(long line, IMovement undone, DateOnly? on = null, DateOnly? closedDay = null,
        string reason = "wrong") => new(
        new Correction(line, closedDay), undone.Kind, [.. undone.Postings.Select(p => p with { Amount = -p.Amount })],
        on ?? undone.OccurredOn, reason);
}
