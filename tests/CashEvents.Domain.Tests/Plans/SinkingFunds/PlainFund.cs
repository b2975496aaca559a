using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Plans;

/// <summary>
/// A fund kept day by day with a pencil: on a payday interest is written down and the contribution is put in, then the
/// day's bills are paid. What is overdue is paid first of all.
/// </summary>
internal static class PlainFund
{
    /// <summary>Whether a contribution on each payday leaves the fund short on some day.</summary>
    public static bool IsShort(SinkingFund fund, IReadOnlyList<DateOnly> paydays, DateOnly today, long contribution,
        long atOnce = 0)
    {
        var bankAtOnce = atOnce * fund.BankPercent / 100;
        var (cash, bank) = (fund.Cash.Minor + atOnce - bankAtOnce, fund.Bank.Minor + bankAtOnce);
        var last = fund.Bills.Select(b => b.Due).Append(today).Max();
        DateOnly? paid = null;
        Pay(fund.Bills.Where(b => b.Due < today));
        for (var day = today; day <= last && bank >= 0; day = day.AddDays(1))
        {
            if (paydays.Contains(day))
            {
                bank += (long)Math.Floor(bank * fund.Interest * (day.DayNumber - (paid ?? day).DayNumber) / 365m);
                paid = day;
                bank += contribution * fund.BankPercent / 100;
                cash += contribution - (contribution * fund.BankPercent / 100);
            }

            Pay(fund.Bills.Where(b => b.Due == day));
        }

        return bank < 0;

        void Pay(IEnumerable<Bill> bills)
        {
            foreach (var bill in bills)
            {
                var fromCash = Math.Min(cash, bill.Amount.Minor);
                (cash, bank) = (cash - fromCash, bank - (bill.Amount.Minor - fromCash));
            }
        }
    }

    /// <summary>
    /// Funds with up to a dozen bills over two years, some overdue; paydays by the month, or every so many days.
    /// </summary>
    public static Gen<(SinkingFund Fund, IReadOnlyList<DateOnly> Paydays)> Any(bool interest)
    {
        var bills = Gen.Select(Gen.Int[-5, 720], Gen.OneOf(Gen.Int[1, 20], Gen.Int[1, 90_000])).Array[1, 12];
        var there = Gen.Frequency((1, Gen.Const(0)), (2, Gen.Int[0, 60_000]));
        var rate = interest ? Gen.Int[1, 3_000].Select(r => r / 10_000m) : Gen.Const(0m);
        return Gen.Select(bills, there, there, Gen.OneOf(Gen.Const(0), Gen.Const(100), Gen.Int[1, 99]), rate,
            Gen.Int[0, 40], Gen.Int[5, 45])
            .Select((due, cash, bank, percent, i, first, apart) =>
            {
                var fund = new SinkingFund(new Money(cash), new Money(bank), percent, i,
                    [.. due.Select(b => new Bill("boat", Today, Today.AddDays(b.Item1), new Money(b.Item2)))
                        .OrderBy(b => b.Due)]);
                var paydays = Enumerable.Range(0, 1000).Select(n => Today.AddDays(first + (n * apart)))
                    .TakeWhile(d => d <= Today.AddDays(760)).ToList();
                return (fund, (IReadOnlyList<DateOnly>)paydays);
            });
    }
}
