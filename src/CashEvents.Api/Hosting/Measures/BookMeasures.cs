using System.Globalization;
using Prometheus;

namespace CashEvents.Api.Hosting;

/// <summary>
/// What is measured of each book: how long ago its wallets were counted and, if a setting says so, what is in its
/// compartments. Without another setting nothing has a name: a household is a number made of its id, a wallet or
/// compartment the place at which it was taken into use.
/// </summary>
internal sealed class BookMeasures(BookReader books, KeyRing keys, Upgrading upgrading, IConfiguration settings,
    TimeProvider clock)
{
    /// <summary>Lets labels have the ids of households, wallets and compartments.</summary>
    public const string NamesSetting = "CASHEVENTS_METRICS_NAMES";

    /// <summary>Lets balances be told.</summary>
    public const string AmountsSetting = "CASHEVENTS_METRICS_AMOUNTS";

    private const int LengthOfNumber = 8;

    private readonly bool _named = settings.GetValue<bool>(NamesSetting);
    private readonly bool _withAmounts = settings.GetValue<bool>(AmountsSetting);

    /// <summary>Adds them.</summary>
    /// <param name="registry">Where they are told from.</param>
    /// <param name="household">Of which book; null for all.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task AddToAsync(CollectorRegistry registry, string? household, CancellationToken cancellation)
    {
        var told = Metrics.WithCustomRegistry(registry);
        var counted = told.CreateGauge("cashevents_wallet_counted",
            "1 where each compartment with cash in the wallet was counted some day, 0 where one never was.",
            "household", "wallet");
        var ages = told.CreateGauge("cashevents_wallet_count_age_days",
            "Days since the oldest last count of a compartment with cash; left out where one was never counted.",
            "household", "wallet");
        var balances = _withAmounts
            ? told.CreateGauge("cashevents_compartment_balance", "What is in a compartment, in its currency.",
                "household", "compartment", "holding", "currency")
            : null;
        foreach (var id in household is null ? await keys.HouseholdsAsync(cancellation).ConfigureAwait(false)
            : [household])
        {
            if (upgrading.LeftOut.Contains(id))
            {
                continue;
            }

            var book = await books.ReadAsync(id, cancellation).ConfigureAwait(false);
            Tell(book, _named ? id : KeyRing.Hash(id)[..LengthOfNumber], counted, ages, balances);
        }
    }

    private void Tell(Book book, string household, Gauge counted, Gauge ages, Gauge? balances)
    {
        var today = book.Household!.DateAt(clock.GetUtcNow());
        var wallets = Labels(book.Wallets.Values.OrderBy(wallet => wallet.Line).Select(wallet => wallet.Id));
        foreach (var (wallet, day) in book.CountedWallets)
        {
            counted.WithLabels(household, wallets[wallet]).Set(day is null ? 0 : 1);
            if (day is { } since)
            {
                ages.WithLabels(household, wallets[wallet]).Set(today.DayNumber - since.DayNumber);
            }
        }

        if (balances is null || book.Household.Currency is not { } currency)
        {
            return;
        }

        var compartments = book.Compartments.Values.OrderBy(compartment => compartment.Line).ToList();
        var labels = Labels(compartments.Select(compartment => compartment.Id));
        foreach (var compartment in compartments.Where(compartment => !compartment.Closed))
        {
            // A monitor knows no other numbers; nothing is worked out with these.
            balances.WithLabels(household, labels[compartment.Id], "cash", currency.Code)
                .Set((double)currency.ToDecimal(compartment.Cash));
            balances.WithLabels(household, labels[compartment.Id], "bank", currency.Code)
                .Set((double)currency.ToDecimal(compartment.Bank));
        }
    }

    private Dictionary<string, string> Labels(IEnumerable<string> ids) => ids
        .Select((id, place) => (id, Label: _named ? id : (place + 1).ToString(CultureInfo.InvariantCulture)))
        .ToDictionary(each => each.id, each => each.Label);
}
