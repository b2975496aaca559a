using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

/// <summary>Rules generated from the grammar of RFC 5545, section 3.3.10, sensible or not.</summary>
public sealed class GeneratedRulesTests
{
    private static readonly int LastDay = BankDate.LastTold.DayNumber - BankDate.FirstTold.DayNumber;

    private static readonly string[] _weekdays = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"];

    private static readonly Gen<string> _weekday = Gen.OneOf(_weekdays);

    private static readonly Gen<string>[] _parts =
    [
        Gen.Int[1, 500].Select(n => $"COUNT={n}"),
        Gen.OneOf(Gen.Int[1, 60], Gen.Int[1, 9999]).Select(n => $"INTERVAL={n}"),
        Gen.Int[0, LastDay].Select(days => $"UNTIL={Day(days):yyyyMMdd}"),
        _weekday.Select(day => $"WKST={day}"),
        List("BYMONTH", Gen.Int[1, 12].Select(n => $"{n}")),
        List("BYMONTHDAY", Number(31)),
        List("BYYEARDAY", Number(366)),
        List("BYWEEKNO", Number(53)),
        List("BYSETPOS", Gen.OneOf(Number(5), Number(366))),
        List("BYDAY", Gen.Select(Gen.OneOf(Gen.Const(""), Number(5), Number(53)), _weekday,
            (number, day) => number + day)),
    ];

    private static readonly Gen<string> _rule = Gen.Select(
        Gen.OneOf("DAILY", "WEEKLY", "MONTHLY", "YEARLY"),
        Gen.Shuffle(_parts, 0, 5).SelectMany(parts => Gen.Select(OneOfEach(parts), all => all)),
        (frequency, parts) => string.Join(';', parts.Prepend($"FREQ={frequency}")));

    [Fact]
    public void Whatever_rule_is_written_it_is_read_or_refused_with_the_mend()
    {
        Gen.Select(_rule, Gen.Int[0, LastDay], Gen.Int[0, LastDay]).Sample((rule, first, asked) =>
        {
            try
            {
                RecurrenceRules.Check(rule);
            }
            catch (RefusalException)
            {
                return;
            }

            var recurrence = new Recurrence(rule, Day(first));
            var days = RecurrenceRules.DaysOf(recurrence, recurrence.First, BankDate.LastTold);
            Assert.Equal(days.Distinct().Order(), days);
            Assert.All(days, day => Assert.InRange(day, recurrence.First, BankDate.LastTold));

            // A year asked for by itself has the same days of it.
            var year = Day(asked).Year;
            Assert.Equal(days.Where(day => day.Year == year),
                RecurrenceRules.DaysOf(recurrence, new DateOnly(year, 1, 1), new DateOnly(year, 12, 31)));
        }, iter: Thorough.Times(atHand: 200, all: 2_000));
    }

    [Theory]
    [InlineData("FREQ=YEARLY;BYWEEKNO=53;BYDAY=MO;BYMONTH=6")]
    [InlineData("FREQ=YEARLY;BYWEEKNO=+10;BYYEARDAY=-207")]
    [InlineData("FREQ=YEARLY;BYDAY=-13WE;BYSETPOS=+4,+10,-4")]
    [InlineData("FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=+10;BYWEEKNO=+42,-2,18,+50;WKST=SU;BYSETPOS=3")]
    public void A_rule_that_never_comes_true_is_refused(string rule)
    {
        var refusal = Assert.Throws<RefusalException>(
            () => RecurrenceRules.Read(rule, new DateOnly(2026, 6, 1))).Refusal;

        Assert.Equal(("rule-unreadable", "rule"), (refusal.Code, refusal.Field));
        Assert.Contains("names no day", refusal.Detail, StringComparison.Ordinal);
    }

    private static DateOnly Day(int number) => BankDate.FirstTold.AddDays(number);

    private static Gen<string> Number(int largest) =>
        Gen.Select(Gen.OneOf("", "+", "-"), Gen.Int[1, largest], (sign, n) => $"{sign}{n}");

    private static Gen<string> List(string name, Gen<string> value) =>
        Gen.OneOf(value.Array[1], value.Array[1, 4]).Select(values => $"{name}={string.Join(',', values)}");

    private static Gen<string[]> OneOfEach(Gen<string>[] parts) =>
        parts.Aggregate(Gen.Const(Array.Empty<string>()),
            (all, part) => Gen.Select(all, part, (a, p) => a.Append(p).ToArray()));
}
