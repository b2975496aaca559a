using Xunit;

namespace CashEvents.Api.Tests.Paydays;

/// <summary>
/// The examples of RFC 5545, section 3.8.5.3, with the dates that it lists. Its UNTIL is an instant there and the day
/// before or of it here, since days have no time;
/// its examples of hours and minutes (four rules, and one of days with BYHOUR and BYMINUTE) are out of scope.
/// </summary>
public sealed class Rfc5545ExamplesTests
{
    /// <summary>
    /// First day, rule, the dates listed as year/month: days; three points where the rule goes on for ever.
    /// </summary>
    public static TheoryData<string, string, string> Listed { get; } = new()
    {
        { "1997-09-02", "FREQ=DAILY;COUNT=10", "1997/9: 2-11" },
        { "1997-09-02", "FREQ=DAILY;UNTIL=19971223", "1997/9: 2-30; 1997/10: 1-31; 1997/11: 1-30; 1997/12: 1-23" },
        { "1997-09-02", "FREQ=DAILY;INTERVAL=2",
            "1997/9: 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; 1997/10: 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; "
                + "1997/11: 1,3,5,7,9,11,13,15,17,19,21,23,25,27,29; 1997/12: 1,3..." },
        { "1997-09-02", "FREQ=DAILY;INTERVAL=10;COUNT=5", "1997/9: 2,12,22; 1997/10: 2,12" },
        { "1998-01-01", "FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
            "1998/1: 1-31; 1999/1: 1-31; 2000/1: 1-31" },
        { "1998-01-01", "FREQ=DAILY;UNTIL=20000131;BYMONTH=1", "1998/1: 1-31; 1999/1: 1-31; 2000/1: 1-31" },
        { "1997-09-02", "FREQ=WEEKLY;COUNT=10", "1997/9: 2,9,16,23,30; 1997/10: 7,14,21,28; 1997/11: 4" },
        { "1997-09-02", "FREQ=WEEKLY;UNTIL=19971223",
            "1997/9: 2,9,16,23,30; 1997/10: 7,14,21,28; 1997/11: 4,11,18,25; 1997/12: 2,9,16,23" },
        { "1997-09-02", "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
            "1997/9: 2,16,30; 1997/10: 14,28; 1997/11: 11,25; 1997/12: 9,23; 1998/1: 6,20; 1998/2: 3,17..." },
        { "1997-09-02", "FREQ=WEEKLY;UNTIL=19971006;WKST=SU;BYDAY=TU,TH",
            "1997/9: 2,4,9,11,16,18,23,25,30; 1997/10: 2" },
        { "1997-09-02", "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH", "1997/9: 2,4,9,11,16,18,23,25,30; 1997/10: 2" },
        { "1997-09-01", "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;WKST=SU;BYDAY=MO,WE,FR",
            "1997/9: 1,3,5,15,17,19,29; 1997/10: 1,3,13,15,17,27,29,31; 1997/11: 10,12,14,24,26,28; 1997/12: 8,10,12,22" },
        { "1997-09-02", "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
            "1997/9: 2,4,16,18,30; 1997/10: 2,14,16" },
        { "1997-09-05", "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
            "1997/9: 5; 1997/10: 3; 1997/11: 7; 1997/12: 5; 1998/1: 2; 1998/2: 6; 1998/3: 6; 1998/4: 3; 1998/5: 1; "
                + "1998/6: 5" },
        { "1997-09-05", "FREQ=MONTHLY;UNTIL=19971223;BYDAY=1FR", "1997/9: 5; 1997/10: 3; 1997/11: 7; 1997/12: 5" },
        { "1997-09-07", "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
            "1997/9: 7,28; 1997/11: 2,30; 1998/1: 4,25; 1998/3: 1,29; 1998/5: 3,31" },
        { "1997-09-22", "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
            "1997/9: 22; 1997/10: 20; 1997/11: 17; 1997/12: 22; 1998/1: 19; 1998/2: 16" },
        { "1997-09-28", "FREQ=MONTHLY;BYMONTHDAY=-3",
            "1997/9: 28; 1997/10: 29; 1997/11: 28; 1997/12: 29; 1998/1: 29; 1998/2: 26..." },
        { "1997-09-02", "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
            "1997/9: 2,15; 1997/10: 2,15; 1997/11: 2,15; 1997/12: 2,15; 1998/1: 2,15" },
        { "1997-09-30", "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
            "1997/9: 30; 1997/10: 1,31; 1997/11: 1,30; 1997/12: 1,31; 1998/1: 1,31; 1998/2: 1" },
        { "1997-09-10", "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
            "1997/9: 10-15; 1999/3: 10-13" },
        { "1997-09-02", "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
            "1997/9: 2,9,16,23,30; 1997/11: 4,11,18,25; 1998/1: 6,13,20,27; 1998/3: 3,10,17,24,31..." },
        { "1997-06-10", "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
            "1997/6: 10; 1997/7: 10; 1998/6: 10; 1998/7: 10; 1999/6: 10; 1999/7: 10; 2000/6: 10; 2000/7: 10; 2001/6: "
                + "10; 2001/7: 10" },
        { "1997-03-10", "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
            "1997/3: 10; 1999/1: 10; 1999/2: 10; 1999/3: 10; 2001/1: 10; 2001/2: 10; 2001/3: 10; 2003/1: 10; 2003/2: "
                + "10; 2003/3: 10" },
        { "1997-01-01", "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
            "1997/1: 1; 1997/4: 10; 1997/7: 19; 2000/1: 1; 2000/4: 9; 2000/7: 18; 2003/1: 1; 2003/4: 10; 2003/7: 19; "
                + "2006/1: 1" },
        { "1997-05-19", "FREQ=YEARLY;BYDAY=20MO", "1997/5: 19; 1998/5: 18; 1999/5: 17..." },
        { "1997-05-12", "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1997/5: 12; 1998/5: 11; 1999/5: 17..." },
        { "1997-03-13", "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
            "1997/3: 13,20,27; 1998/3: 5,12,19,26; 1999/3: 4,11,18,25..." },
        { "1997-06-05", "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
            "1997/6: 5,12,19,26; 1997/7: 3,10,17,24,31; 1997/8: 7,14,21,28; 1998/6: 4,11,18,25; 1998/7: 2,9,16,23,30; "
                + "1998/8: 6,13,20,27; 1999/6: 3,10,17,24; 1999/7: 1,8,15,22,29; 1999/8: 5,12,19,26..." },
        // The RFC begins it on 2 September and takes that day out again with EXDATE.
        { "1997-09-02", "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
            "1998/2: 13; 1998/3: 13; 1998/11: 13; 1999/8: 13; 2000/10: 13..." },
        { "1997-09-13", "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
            "1997/9: 13; 1997/10: 11; 1997/11: 8; 1997/12: 13; 1998/1: 10; 1998/2: 7; 1998/3: 7; 1998/4: 11; 1998/5: "
                + "9; 1998/6: 13..." },
        { "1996-11-05", "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
            "1996/11: 5; 2000/11: 7; 2004/11: 2..." },
        { "1997-09-04", "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "1997/9: 4; 1997/10: 7; 1997/11: 6" },
        { "1997-09-29", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
            "1997/9: 29; 1997/10: 30; 1997/11: 27; 1997/12: 30; 1998/1: 29; 1998/2: 26; 1998/3: 30..." },
        { "1997-08-05", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "1997/8: 5,10,19,24" },
        { "1997-08-05", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "1997/8: 5,17,19,31" },
        { "2007-01-15", "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007/1: 15,30; 2007/2: 15; 2007/3: 15,30" },
    };

    [Theory]
    [MemberData(nameof(Listed))]
    public void A_rule_has_the_days_that_the_standard_lists(string first, string rule, string listed)
    {
        RecurrenceRules.Check(rule);
        var expected = Days(listed.TrimEnd('.')).ToList();

        var days = RecurrenceRules.DaysOf(new Recurrence(rule, DateOnly.Parse(first)), DateOnly.Parse(first),
            new DateOnly(2010, 1, 1));

        Assert.Equal(expected, days.Take(expected.Count));
        Assert.Equal(listed.EndsWith("...", StringComparison.Ordinal), days.Count > expected.Count);
    }

    [Theory]
    [MemberData(nameof(Listed))]
    public void A_stretch_of_a_rule_has_those_of_its_days_that_lie_in_it(string first, string rule, string listed)
    {
        var expected = Days(listed.TrimEnd('.')).ToList();
        var recurrence = new Recurrence(rule, DateOnly.Parse(first));

        for (var (from, to) = (expected.Count / 3, expected.Count - 1); from <= to; from += 2, to--)
        {
            Assert.Equal(expected[from..(to + 1)], RecurrenceRules.DaysOf(recurrence, expected[from], expected[to]));
        }
    }

    private static IEnumerable<DateOnly> Days(string listed) => listed.Split("; ").SelectMany(month =>
    {
        var parts = month.Split(['/', ':']);
        return parts[2].Split(',').SelectMany(days => days.Split('-') is [var from, var to]
            ? Enumerable.Range(int.Parse(from), int.Parse(to) - int.Parse(from) + 1)
            : [int.Parse(days)]).Select(day => new DateOnly(int.Parse(parts[0]), int.Parse(parts[1]), day));
    });
}
