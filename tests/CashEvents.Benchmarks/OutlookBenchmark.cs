using System.Collections.Immutable;
using System.Diagnostics;
using System.Globalization;

namespace CashEvents.Benchmarks;

/// <summary>
/// A five-year outlook of 40 compartments, beside the plainest way that is right. The calendar is made anew for each
/// round, as for each question over HTTP.
/// </summary>
internal static class OutlookBenchmark
{
    private const int Rounds = 5;
    private const int Spending = 20, Funds = 12, Savings = 8;

    private static readonly DateOnly Today = new(2026, 11, 25);

    /// <summary>Runs it. Exit code 1 where the two differ.</summary>
    public static int Run()
    {
        var book = Household(new Random(2026));
        var to = Today.AddMonths(Outlook.MostMonths);
        var (ours, plain) = (new List<double>(), new List<double>());
        var (alike, paydays, shortages) = (true, 0, 0);
        for (var round = 0; round < Rounds; round++)
        {
            var (byOurs, oursTook) = Timed(
                () => Outlook.Of(book, Today, to, HouseholdCalendar.Of(book.Household!.Country)));
            var (byPlain, plainTook) =
                Timed(() => PlainOutlook.Of(book, Today, to, HouseholdCalendar.Of(book.Household!.Country)));
            ours.Add(oursTook);
            plain.Add(plainTook);
            alike &= byPlain.Missing == byOurs.Shortages.Sum(s => s.Missing.Minor)
                && byPlain.Lowest.SequenceEqual(
                    byOurs.Stretches.SelectMany(
                        s => s.Rows.Select(r => (s.Until, r.Closing.Cash.Minor, r.Closing.Bank.Minor))));
            (paydays, shortages) = (byOurs.Stretches.Count(s => s.Run is not null), byOurs.Shortages.Count());
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"outlook: {Outlook.MostMonths} months, {Spending + Funds + Savings} compartments of which {Funds} are "
                + $"sinking funds with {book.Goals.Count} goals, {paydays} paydays, {shortages} shortages; the median "
                + $"of {Rounds} rounds"));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"  CashEvents {Median(ours):F0} ms, plain day by day {Median(plain):F0} ms, CashEvents to plain "
                + $"{Median(ours) / Median(plain):F3}; results {(alike ? "alike" : "DIFFER")}"));
        return alike ? 0 : 1;
    }

    private static Book Household(Random random)
    {
        var lines = new List<IBookEvent>
        {
            new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday, "IE"),
            new WalletOpened("sea-chest", "Sea chest"),
            new IncomeSourceSet("harbour-office", "Harbour office", "FREQ=MONTHLY;BYMONTHDAY=-1", new(2026, 9, 30),
                NotBankDay.Previous, new(340_000)),
            new IncomeSourceSet("net-mending", "Net mending", "FREQ=WEEKLY;INTERVAL=2;BYDAY=FR", new(2026, 10, 2),
                NotBankDay.Next, new(42_000)),
            new StandingPaymentSet("quay-rent", StandingPaymentKind.FixedBill, "Quay rent", "FREQ=MONTHLY;BYMONTHDAY=3",
                new(2026, 9, 3), NotBankDay.Next, new(64_000)),
            new StandingPaymentSet("nest-egg", StandingPaymentKind.AutomaticSaving, "Nest egg",
                "FREQ=MONTHLY;BYMONTHDAY=1", new(2026, 9, 1), NotBankDay.Next, new(15_000)),
        };
        for (var n = 0; n < Spending + Funds + Savings; n++)
        {
            var purpose = n < Spending ? Purpose.Spending : n < Spending + Funds ? Purpose.SinkingFund : Purpose.Saving;
            var id = $"compartment-{n}";
            lines.Add(new CompartmentOpened(id, id, "sea-chest", purpose));
            lines.Add(new Filled(id, Holding.Cash, new(random.Next(1, 20_000)), Today, ""));
            lines.Add(purpose switch
            {
                Purpose.Spending => new FillRuleSet(id, FillRuleKind.Weekly, null, null,
                    n % 4 == 0 ? new(12_000) : null, Holding.Cash, 1 + (n % 3), n % 2 == 0 ? new(500) : null),
                Purpose.SinkingFund => new FillRuleSet(id, FillRuleKind.Contribution, null, null, null, Holding.Cash, 1,
                    null),
                _ => new FillRuleSet(id, FillRuleKind.Share, null, 2_000, null, Holding.Bank, 4, null),
            });
            if (purpose == Purpose.Spending)
            {
                lines.Add(new PlanSet(new(2026, 11, 23),
                    ImmutableSortedDictionary<string, Money>.Empty.Add(id, new(random.Next(500, 2_500)))));
                lines.Add(new PlanSet(new(2028, 1, 3),
                    ImmutableSortedDictionary<string, Money>.Empty.Add(id, new(random.Next(500, 3_500)))));
            }

            if (purpose == Purpose.SinkingFund)
            {
                lines.Add(new FundTermsSet(id, 10 * (n % 8), n % 2 == 0 ? 250 : 0));
                lines.AddRange(Enumerable.Range(0, 3).Select(goal => new GoalSet(
                    $"{id}-{goal}", id, "Bill", new(random.Next(2_000, 40_000)), Today.AddDays(random.Next(-20, 400)),
                    new[] { null, "P3M", "P1Y" }[goal], ImmutableSortedDictionary<DateOnly, Money>.Empty, Today)));
            }
        }

        return lines.Aggregate(Book.Empty, (book, line) => book.Apply(line));
    }

    private static (T Answer, double Milliseconds) Timed<T>(Func<T> work)
    {
        var began = Stopwatch.GetTimestamp();
        var answer = work();
        return (answer, Stopwatch.GetElapsedTime(began).TotalMilliseconds);
    }

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);
}
