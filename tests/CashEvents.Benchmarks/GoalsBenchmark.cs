using System.Diagnostics;
using System.Globalization;

namespace CashEvents.Benchmarks;

/// <summary>
/// Level contributions of sinking funds with a thousand goals between them, beside the plainest way that is right: the
/// sums anew for every due date and, with interest, a search that keeps the fund day by day.
/// </summary>
internal static class GoalsBenchmark
{
    private const int Goals = 1_000;
    private const int Rounds = 5;

    private static readonly DateOnly Today = new(2026, 11, 25);

    public static int Run()
    {
        Console.WriteLine($"Level contributions: {Goals} goals, monthly paydays over five years; the median of "
            + $"{Rounds} rounds.");
        Console.WriteLine(
            $"{"funds",6}  {"goals each",10}  {"interest",8}  {"plain ms",9}  {"CashEvents ms",13}  {"alike",5}");
        foreach (var (each, interest) in new[] { (1, 0m), (10, 0m), (1000, 0m), (1, 0.0025m), (10, 0.0025m) })
        {
            var random = new Random(7);
            DateOnly[] paydays = [.. Enumerable.Range(1, 63).Select(m => new DateOnly(2026, 11, 1).AddMonths(m))];
            var funds = Enumerable.Range(0, Goals / each).Select(_ => Fund(random, each, interest)).ToList();
            var (plain, ours) = (new List<double>(), new List<double>());
            var alike = true;
            for (var round = 0; round < Rounds; round++)
            {
                var (byPlain, plainTook) = Timed(() => funds.ConvertAll(f => Plain(f, paydays)));
                var (byOurs, oursTook) = Timed(
                    () => funds.ConvertAll(f => new FundSchedule(f, paydays, Today).Level.Minor));
                plain.Add(plainTook);
                ours.Add(oursTook);
                alike &= byPlain.SequenceEqual(byOurs);
            }

            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{funds.Count,6}  {each,10}  {interest,8:0.00%}  {Median(plain),9:0.00}  {Median(ours),13:0.00}  "
                    + $"{(alike ? "yes" : "NO"),5}"));
            if (!alike)
            {
                return 1;
            }
        }

        return 0;
    }

    private static SinkingFund Fund(Random random, int goals, decimal interest)
    {
        var bills = Enumerable.Range(0, goals).SelectMany(goal =>
        {
            var first = Today.AddDays(random.Next(40, 400));
            var (months, amount) = (random.Next(1, 5) * 3, new Money(random.Next(1_000, 90_000)));
            return Enumerable.Range(0, 21)
                .Select(n => new Bill($"goal-{goal}", Today, first.AddMonths(n * months), amount))
                .TakeWhile(b => b.Due <= Today.AddYears(5));
        });
        return new SinkingFund(new Money(random.Next(0, 20_000)), new Money(random.Next(0, 20_000)),
            interest == 0m ? 0 : 60, interest, [.. bills.OrderBy(b => b.Due)]);
    }

    private static long Plain(SinkingFund fund, DateOnly[] paydays) => fund.Interest == 0m
        ? fund.Bills.Max(bill =>
        {
            var need = fund.Bills.Where(b => b.Due <= bill.Due).Sum(b => b.Amount.Minor) - fund.There.Minor;
            return need <= 0 ? 0 : (long)decimal.Ceiling((decimal)need / paydays.Count(p => p <= bill.Due));
        })
        : PlainSearch(fund, paydays);

    private static long PlainSearch(SinkingFund fund, DateOnly[] paydays)
    {
        var (low, high) = (0L, fund.Bills.Sum(b => b.Amount.Minor));
        while (low < high)
        {
            var middle = (low + high) / 2;
            (low, high) = IsShort(fund, paydays, middle) ? (middle + 1, high) : (low, middle);
        }

        return low;
    }

    private static bool IsShort(SinkingFund fund, DateOnly[] paydays, long contribution)
    {
        var (cash, bank) = (fund.Cash.Minor, fund.Bank.Minor);
        var bills = fund.Bills.ToLookup(b => b.Due);
        var paid = paydays[0];
        for (var day = Today; day <= fund.Bills[^1].Due; day = day.AddDays(1))
        {
            if (Array.BinarySearch(paydays, day) >= 0)
            {
                var toBank = contribution * fund.BankPercent / 100;
                bank += (long)decimal.Floor(bank * fund.Interest * (day.DayNumber - paid.DayNumber) / 365m) + toBank;
                paid = day;
                cash += contribution - toBank;
            }

            foreach (var bill in bills[day])
            {
                var fromCash = Math.Min(cash, bill.Amount.Minor);
                (cash, bank) = (cash - fromCash, bank - (bill.Amount.Minor - fromCash));
            }

            if (bank < 0)
            {
                return true;
            }
        }

        return false;
    }

    private static (List<long> Answer, double Milliseconds) Timed(Func<List<long>> work)
    {
        var began = Stopwatch.GetTimestamp();
        var answer = work();
        return (answer, Stopwatch.GetElapsedTime(began).TotalMilliseconds);
    }

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);
}
