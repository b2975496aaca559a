namespace CashEvents.Api.Custody;

/// <summary>Cash of a compartment that lies where its wallet does.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Cash">Its balance in cash less what somebody carries.</param>
public sealed record LyingCashAnswer(string Compartment, string Label, decimal Cash);

/// <summary>A wallet with the cash that lies in it.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Cash">All that lies in it.</param>
/// <param name="Compartments">Its compartments in use; one that is closed by now only if it held something
/// then.</param>
public sealed record LyingWalletAnswer(string Wallet, string Label, decimal Cash,
    IReadOnlyList<LyingCashAnswer> Compartments)
{
    /// <summary>The day since which it is said to lie there; absent where no place is said.</summary>
    public DateOnly? Since { get; init; }

    /// <summary>For how many days.</summary>
    public int? Days { get; init; }
}

/// <summary>A place with the wallets that lie in it.</summary>
/// <param name="AtHome">Whether what lies there is at home.</param>
/// <param name="Cash">All that lies in it.</param>
/// <param name="Wallets">The wallets.</param>
public sealed record OccupiedPlaceAnswer(bool AtHome, decimal Cash, IReadOnlyList<LyingWalletAnswer> Wallets)
{
    /// <summary>The place's id; absent for wallets of which no place is said.</summary>
    public string? Place { get; init; }

    /// <summary>As people call it.</summary>
    public string? Label { get; init; }
}

/// <summary>Cash that somebody carries.</summary>
/// <param name="Handover">The handover's id.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Label">What is written on the compartment.</param>
/// <param name="Carrier">Who carries it.</param>
/// <param name="Amount">What was taken less what was paid from it.</param>
/// <param name="Since">The day on which it was taken.</param>
/// <param name="Days">For how many days.</param>
public sealed record CarriedCashAnswer(long Handover, string Compartment, string Label, string Carrier, decimal Amount,
    DateOnly Since, int Days);

/// <summary>The limits above which cautions are given.</summary>
public sealed record CautionLimitsAnswer
{
    /// <summary>Of cash at home; absent where there is none.</summary>
    public LimitAnswer? CashAtHome { get; init; }

    /// <summary>Of what one person carries; absent where there is none.</summary>
    public LimitAnswer? Carried { get; init; }
}

/// <summary>What is where, and with whom. Every note of the book is in it once.</summary>
/// <param name="Day">The household's date for which it is told.</param>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="Places">Places with what lies in them; last the wallets of which no place is said, which are taken to
/// be at home.</param>
/// <param name="Carried">What people carry, longest first.</param>
/// <param name="CashAtHome">All that lies at home.</param>
/// <param name="CashElsewhere">All that lies in places that are not at home.</param>
/// <param name="CashCarried">All that people carry.</param>
/// <param name="Limits">The limits above which cautions are given.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record CustodyAnswer(
    DateOnly Day, string? Currency, IReadOnlyList<OccupiedPlaceAnswer> Places, IReadOnlyList<CarriedCashAnswer> Carried,
    decimal CashAtHome, decimal CashElsewhere, decimal CashCarried, CautionLimitsAnswer Limits, long BookLine)
{
    /// <summary>What whoever keeps it should know; absent when there is nothing.</summary>
    public IReadOnlyList<CautionAnswer>? Cautions { get; init; }

    internal static CustodyAnswer Of(Book book, DateOnly day)
    {
        var currency = book.Household?.Currency;
        var (lying, carried) = (Whereabouts.Lying(book), Whereabouts.Carried(book));
        return new CustodyAnswer(
            day,
            currency?.Code,
            [.. lying.Select(Place)],
            [.. carried.Select(c => new CarriedCashAnswer(c.Handover.Id, c.Handover.Compartment,
                book.Compartments[c.Handover.Compartment].Label, c.Handover.Carrier, Say(c.Amount), c.Handover.Since,
                Days(c.Handover.Since)))],
            Sum(lying.Where(p => p.AtHome).Select(p => p.Amount)),
            Sum(lying.Where(p => !p.AtHome).Select(p => p.Amount)), Sum(carried.Select(c => c.Amount)),
            new CautionLimitsAnswer
            {
                CashAtHome = LimitAnswer.Of(Caution.CashAtHomeLimit(book), currency),
                Carried = LimitAnswer.Of(Caution.CarriedLimit(book), currency)
            },
            book.Line)
        {
            Cautions = CautionAnswer.Of([.. Caution.AtHome(book), .. Caution.Carried(book)], currency),
        };

        decimal Say(Money money) => currency?.ToDecimal(money) ?? 0m;

        decimal Sum(IEnumerable<Money> amounts) => Say(amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount));

        int Days(DateOnly since) => day.DayNumber - since.DayNumber;

        OccupiedPlaceAnswer Place(OccupiedPlace place) =>
            new(place.AtHome, Say(place.Amount), [.. place.Wallets.Select(Wallet)])
            {
                Place = place.Place?.Id,
                Label = place.Place?.Label
            };

        LyingWalletAnswer Wallet(LyingWallet wallet) => new(
            wallet.Wallet.Id, wallet.Wallet.Label, Say(wallet.Amount),
            [.. wallet.Compartments.Select(
                c => new LyingCashAnswer(c.Compartment.Id, c.Compartment.Label, Say(c.Amount)))])
        {
            Since = wallet.Wallet.LiesIn?.Since,
            Days = wallet.Wallet.LiesIn is { } lies ? Days(lies.Since) : null,
        };
    }
}

internal sealed class CustodyEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/custody", async (HttpContext http, Caller caller, string? on, string? atLine, string? at,
            BookReader books, LineReader lines, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "on", "atLine", "at");
            var asOf = Reads.AsOf(on, atLine, at);
            var book = await books.ReadCustodyAsync(caller.Household, asOf, http.RequestAborted).ConfigureAwait(false);
            var told = asOf.AtLine is null
                ? asOf.At ?? clock.GetUtcNow()
                : (await lines.FindAsync(caller.Household, book.Line, http.RequestAborted)
                    .ConfigureAwait(false))!.RecordedAt;
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(CustodyAnswer.Of(book, asOf.On ?? book.Household!.DateAt(told)));
        })
        .IsHeavy("on", "atLine", "at")
        .Produces<CustodyAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("What is where and with whom, since when and for how long; with cautions")
        .WithDescription("Cash only. `on` asks who held what at the end of a day, by what is known now; `atLine` or "
            + "`at` what "
            + "the book said then. A compartment's wallet and the limits are told as they are in the book, whatever "
            + "the day. A caution names the source of its limit and defers to your own policy and to local law.")
        .WithAsOf()
        .WithExample(null, """
            {"day": "2026-11-15", "currency": "EUR",
             "places": [
               {"place": "kitchen-safe", "label": "Kitchen safe", "atHome": true, "cash": 44.00, "wallets": [
                 {"wallet": "oilskin-wallet", "label": "Oilskin wallet", "cash": 44.00, "since": "2026-11-01", "days": 14, "compartments": [
                   {"compartment": "ferry-fares", "label": "Ferry fares", "cash": 24.00}, {"compartment": "market-days", "label": "Market days", "cash": 20.00}]}]},
               {"atHome": true, "cash": 480.00, "wallets": [
                 {"wallet": "desk-drawer", "label": "Desk drawer", "cash": 480.00, "compartments": [{"compartment": "boat-insurance", "label": "Boat insurance", "cash": 480.00}]}]}],
             "carried": [{"handover": 41, "compartment": "ferry-fares", "label": "Ferry fares", "carrier": "partner", "amount": 40.00, "since": "2026-11-14", "days": 1}],
             "cashAtHome": 524.00, "cashElsewhere": 0.00, "cashCarried": 40.00,
             "limits": {"cashAtHome": {"amount": 500.00, "source": "the household's own limit, set on line 31"}},
             "cautions": [{"code": "cash-at-home", "amount": 524.00, "limit": 500.00, "source": "the household's own limit, set on line 31",
               "detail": "524.00 EUR lies at home, more than the 500.00 EUR that the household has set as its limit. Read what your own policy covers, and ask whoever insures you; local law goes before this."}],
             "bookLine": 46}
            """);
}
