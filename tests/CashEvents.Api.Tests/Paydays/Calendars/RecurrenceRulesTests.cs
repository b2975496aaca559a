using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class RecurrenceRulesTests
{
    private static readonly DateOnly _first = new(2026, 9, 30);

    [Theory]
    [InlineData("FREQ=MONTHLY;BYMONTHDAY=-1")]
    [InlineData(" rrule:freq=monthly;bymonthday=-1 ")]
    public void A_rule_is_kept_in_capitals_without_its_name(string written) =>
        Assert.Equal(new Recurrence("FREQ=MONTHLY;BYMONTHDAY=-1", _first), RecurrenceRules.Read(written, _first));

    [Theory]
    [InlineData("monthly", "NAME=VALUE")]
    [InlineData("", "NAME=VALUE")]
    [InlineData("FREQ=MONTHLY;", "NAME=VALUE")]
    [InlineData("FREQ=", "NAME=VALUE")]
    [InlineData("BYMONTHDAY=30", "FREQ is needed")]
    [InlineData("FREQ=FORTNIGHTLY", "FREQ is DAILY")]
    [InlineData("FREQ=HOURLY", "finer than days")]
    [InlineData("FREQ=DAILY;BYHOUR=9", "finer than days")]
    [InlineData("FREQ=DAILY;BYDAI=MO", "no part BYDAI")]
    [InlineData("FREQ=DAILY;FREQ=DAILY", "twice")]
    [InlineData("FREQ=MONTHLY;BYMONTHDAY=32", "BYMONTHDAY takes")]
    [InlineData("FREQ=MONTHLY;BYMONTHDAY=0", "BYMONTHDAY takes")]
    [InlineData("FREQ=MONTHLY;BYMONTHDAY=1,,2", "BYMONTHDAY takes")]
    [InlineData("FREQ=YEARLY;BYMONTH=-1", "BYMONTH takes")]
    [InlineData("FREQ=YEARLY;BYYEARDAY=367", "BYYEARDAY takes")]
    [InlineData("FREQ=YEARLY;BYWEEKNO=54", "BYWEEKNO takes")]
    [InlineData("FREQ=DAILY;INTERVAL=0", "INTERVAL takes")]
    [InlineData("FREQ=DAILY;INTERVAL=1,2", "INTERVAL takes")]
    [InlineData("FREQ=DAILY;COUNT=1.5", "COUNT takes")]
    [InlineData("FREQ=DAILY;COUNT=99999", "COUNT takes")]
    [InlineData("FREQ=WEEKLY;BYDAY=MON", "BYDAY takes")]
    [InlineData("FREQ=MONTHLY;BYDAY=54MO", "BYDAY takes")]
    [InlineData("FREQ=WEEKLY;WKST=1MO", "WKST takes")]
    [InlineData("FREQ=DAILY;UNTIL=20261231T235959Z", "UNTIL is a day")]
    [InlineData("FREQ=DAILY;UNTIL=2026-12-31", "UNTIL is a day")]
    [InlineData("FREQ=DAILY;UNTIL=20270131;COUNT=3", "COUNT and UNTIL")]
    [InlineData("FREQ=MONTHLY;BYWEEKNO=20", "BYWEEKNO goes")]
    [InlineData("FREQ=MONTHLY;BYYEARDAY=100", "BYYEARDAY goes")]
    [InlineData("FREQ=WEEKLY;BYMONTHDAY=13", "BYMONTHDAY does not")]
    [InlineData("FREQ=WEEKLY;BYDAY=1MO", "number in BYDAY")]
    [InlineData("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "number in BYDAY")]
    [InlineData("FREQ=MONTHLY;BYSETPOS=-1", "BYSETPOS chooses")]
    [InlineData("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "names no day")]
    [InlineData("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "names no day")]
    [InlineData("FREQ=DAILY;UNTIL=20260929", "names no day")]
    public void A_rule_that_cant_be_read_is_refused_with_the_mend(string rule, string mend)
    {
        var refusal = Assert.Throws<RefusalException>(() => RecurrenceRules.Read(rule, _first)).Refusal;

        Assert.Equal(("rule-unreadable", "rule"), (refusal.Code, refusal.Field));
        Assert.Contains(mend, refusal.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void A_rule_longer_than_any_that_is_needed_is_refused() =>
        Assert.Throws<RefusalException>(
            () => RecurrenceRules.Read("FREQ=YEARLY;BYYEARDAY=" + string.Join(',', Enumerable.Range(1, 100)), _first));

    [Theory]
    [InlineData("FREQ=MONTHLY;BYMONTHDAY=-1", "2026-09-15", "2026-09-30")]
    [InlineData("FREQ=WEEKLY;BYDAY=FR", "2026-09-30", "2026-10-02")]
    [InlineData("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", "2026-09-30", "2028-02-29")]
    public void The_first_day_has_to_be_one_of_the_rules(string rule, string first, string nearest)
    {
        var refusal = Assert.Throws<RefusalException>(() => RecurrenceRules.Read(rule, DateOnly.Parse(first))).Refusal;

        Assert.Equal(("first-not-in-rule", "first"), (refusal.Code, refusal.Field));
        Assert.Equal([nearest], refusal.Suggestions);
    }

    [Theory]
    [InlineData("2009-12-31")]
    [InlineData("2071-01-01")]
    public void The_first_day_has_to_be_one_for_which_bank_days_are_told(string first) =>
        Assert.Equal("bank-days-unknown",
            Assert.Throws<RefusalException>(
                () => RecurrenceRules.Read("FREQ=DAILY", DateOnly.Parse(first))).Refusal.Code);

    [Fact]
    public void A_leap_day_comes_every_four_years_and_a_31st_in_the_months_that_have_one()
    {
        Assert.Equal(
            ["2028-02-29", "2032-02-29", "2036-02-29"],
            RecurrenceRules.DaysOf(new Recurrence("FREQ=YEARLY", new DateOnly(2028, 2, 29)), new DateOnly(2028, 2, 29),
                new DateOnly(2039, 12, 31)).Select(d => d.ToString("O")));
        Assert.Equal(
            [1, 3, 5, 7, 8, 10, 12],
            RecurrenceRules.DaysOf(new Recurrence("FREQ=MONTHLY", new DateOnly(2026, 1, 31)), new DateOnly(2027, 1, 1),
                new DateOnly(2027, 12, 31)).Select(d => d.Month));
    }

    [Fact]
    public void A_rule_that_has_ended_or_goes_beyond_the_calendar_has_no_more_days()
    {
        Assert.Empty(RecurrenceRules.DaysOf(new Recurrence("FREQ=WEEKLY;COUNT=3", _first), new DateOnly(2026, 11, 1),
            new DateOnly(2036, 1, 1)));
        Assert.Equal([_first], RecurrenceRules.DaysOf(new Recurrence("FREQ=YEARLY;INTERVAL=9999", _first), _first,
            BankDate.LastTold));
    }
}
