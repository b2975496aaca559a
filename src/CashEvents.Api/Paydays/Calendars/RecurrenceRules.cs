using System.Globalization;
using System.Text.RegularExpressions;
using Ical.Net.DataTypes;
using Ical.Net.Evaluation;

namespace CashEvents.Api.Paydays;

/// <summary>
/// Recurrence rules of RFC 5545, section 3.3.10, as far as they tell days: read strictly here, worked out by Ical.Net.
/// </summary>
internal static partial class RecurrenceRules
{
    private const int LongestRule = 200;
    private const int YearAndADay = 367;

    // More steps without a day than there are days told: no other will come.
    private static readonly EvaluationOptions _options = new() { MaxUnmatchedIncrementsLimit = 25_000 };

    /// <summary>The parts whose values are numbers: the largest, and whether one may count from the end.</summary>
    private static readonly Dictionary<string, (int Largest, bool FromEnd, bool List)> _numbers = new()
    {
        ["COUNT"] = (9999, false, false),
        ["INTERVAL"] = (9999, false, false),
        ["BYMONTH"] = (12, false, true),
        ["BYMONTHDAY"] = (31, true, true),
        ["BYYEARDAY"] = (366, true, true),
        ["BYWEEKNO"] = (53, true, true),
        ["BYSETPOS"] = (366, true, true),
    };

    /// <summary>Reads a rule and the first of its days.</summary>
    /// <param name="rule">As written, with or without <c>RRULE:</c> before it.</param>
    /// <param name="first">The first day, which has to be one of the rule's.</param>
    /// <exception cref="RefusalException">It can't be read, tells something finer than days, or does not name that day;
    /// says the mend.</exception>
    public static Recurrence Read(string rule, DateOnly first)
    {
        BankDate.MustBeTold(first, "first");
        var written = rule.Trim().ToUpperInvariant();
        written = written.StartsWith("RRULE:", StringComparison.Ordinal) ? written["RRULE:".Length..] : written;
        Check(written);
        var recurrence = new Recurrence(written, first);
        var days = DaysOf(recurrence, first, BankDate.LastTold).Take(1).ToList();
        return days switch
        {
            [] => throw Unreadable($"`{written}` names no day from {first:O} on."),
            [var day] when day != first => throw Refusal.Unfit("first", "first-not-in-rule",
                $"{first:O} ({first.DayOfWeek}) is no day of `{written}`: the first from then on is {day:O}.",
                [$"{day:O}"]),
            _ => recurrence,
        };
    }

    /// <summary>The days of a recurrence from one day to another, both counted in.</summary>
    public static IReadOnlyList<DateOnly> DaysOf(Recurrence recurrence, DateOnly first, DateOnly last)
    {
        var rule = new RecurrenceRule(recurrence.Rule);
        // A day that a rule names twice, such as BYMONTHDAY=30,-1 in a month of thirty days, is one day, and counts
        // once.
        var (most, from) = rule.Count is { } count ? (count, recurrence.First) : (int.MaxValue, first);
        rule.Count = null;
        last = rule.Until is { } until && until.Date < last ? until.Date : last;
        // Told where to end, it does not look for days of a rule that has none until its calendar ends in the year
        // 9999. It ends where the first day's
        // counterpart in the last year, month or week lies beyond, although days before that are still to come: so it
        // is told a year later.
        rule.Until = new CalDateTime(last < DateOnly.MaxValue.AddDays(-YearAndADay)
            ? last.AddDays(YearAndADay)
            : DateOnly.MaxValue);
        var days = new List<DateOnly>();
        try
        {
            var all = new RecurrencePatternEvaluator(rule)
                .Evaluate(new CalDateTime(recurrence.First), new CalDateTime(from), _options);
            // It may begin a little before it is told to.
            days.AddRange(all.Select(period => period.StartTime.Date).SkipWhile(day => day < from).Distinct().Take(most)
                .SkipWhile(day => day < first).TakeWhile(day => day <= last));
        }
        catch (Exception end) when (end is EvaluationException or ArgumentOutOfRangeException)
        {
            // Too many steps without a day, or one over the end of its calendar: there are no more.
        }

        return days;
    }

    /// <summary>Refuses a rule that section 3.3.10 does not allow, or that tells something finer than days.</summary>
    /// <param name="rule">In capitals.</param>
    /// <exception cref="RefusalException">Says the mend.</exception>
    public static void Check(string rule)
    {
        if (rule.Length > LongestRule)
        {
            throw Unreadable($"A rule has at most {LongestRule} characters.");
        }

        var parts = new Dictionary<string, string>();
        foreach (var part in rule.Split(';'))
        {
            if (part.Split('=') is not [var name, { Length: > 0 } value])
            {
                throw Unreadable($"`{part}` is no part of a rule: parts are written NAME=VALUE with semicolons "
                    + $"between, such as FREQ=MONTHLY;BYMONTHDAY=-1.");
            }

            CheckPart(name, value);
            if (!parts.TryAdd(name, value))
            {
                throw Unreadable($"{name} is written twice.");
            }
        }

        if (!parts.TryGetValue("FREQ", out var frequency))
        {
            throw Unreadable("FREQ is needed, such as FREQ=MONTHLY.");
        }

        CheckTogether(frequency, parts);
    }

    private static void CheckPart(string name, string value)
    {
        var fits = name switch
        {
            "FREQ" => value is "DAILY" or "WEEKLY" or "MONTHLY" or "YEARLY",
            "UNTIL" => DateOnly.TryParseExact(value, "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None,
                out _),
            "WKST" => Weekday().IsMatch(value),
            "BYDAY" => value.Split(',').All(NumberedWeekday().IsMatch),
            _ when _numbers.TryGetValue(name, out var bounds) =>
                (bounds.List ? value.Split(',') : [value]).All(number =>
                Number().IsMatch(number) && int.Parse(number, CultureInfo.InvariantCulture) is var n && n != 0
                    && n <= bounds.Largest && n >= (bounds.FromEnd ? -bounds.Largest : 1)),
            "BYHOUR" or "BYMINUTE" or "BYSECOND" =>
                throw Unreadable($"{name} tells something finer than days: leave it out."),
            _ => throw Unreadable($"A rule has no part {name}: the parts are FREQ, UNTIL, WKST, BYDAY, "
                + $"{string.Join(", ", _numbers.Keys)}."),
        };
        if (!fits)
        {
            throw Unreadable(name switch
            {
                "FREQ" => $"FREQ is DAILY, WEEKLY, MONTHLY or YEARLY, not {value}: nothing finer than days is told.",
                "UNTIL" => $"UNTIL is a day written like 20271231, not {value}.",
                "WKST" or "BYDAY" => $"{name} takes MO, TU, WE, TH, FR, SA and "
                    + $"SU{(name == "BYDAY" ? ", with a number before it if wanted, such as 1FR or -1MO" : "")}: "
                    + $"{value} is not written so.",
                _ => $"{name} takes whole numbers from "
                    + $"{(_numbers[name].FromEnd ? $"-{_numbers[name].Largest} to -1 and " : "")}1 to "
                    + $"{_numbers[name].Largest}: {value} is not written so.",
            });
        }
    }

    // What section 3.3.10 forbids.
    private static void CheckTogether(string frequency, Dictionary<string, string> parts)
    {
        bool Has(string name) => parts.ContainsKey(name);
        var numberedDay = parts.TryGetValue("BYDAY", out var days) && days.Any(char.IsAsciiDigit);
        var fault = Has("COUNT") && Has("UNTIL") ? "COUNT and UNTIL both say where it ends: leave one out."
            : Has("BYWEEKNO") && frequency != "YEARLY" ? "BYWEEKNO goes with FREQ=YEARLY only."
            : Has("BYYEARDAY") && frequency != "YEARLY" ? "BYYEARDAY goes with FREQ=YEARLY only."
            : Has("BYMONTHDAY") && frequency == "WEEKLY" ? "BYMONTHDAY does not go with FREQ=WEEKLY."
            : numberedDay && (frequency is "DAILY" or "WEEKLY" || Has("BYWEEKNO"))
                ? "A number in BYDAY goes with FREQ=MONTHLY or YEARLY only, and not with BYWEEKNO."
            : Has("BYSETPOS") && !parts.Keys.Any(
                name => name.StartsWith("BY", StringComparison.Ordinal) && name != "BYSETPOS")
                    ? "BYSETPOS chooses among the days of another BY part: add one, such as BYDAY=MO,TU,WE,TH,FR."
            : null;
        if (fault is not null)
        {
            throw Unreadable(fault);
        }
    }

    private static RefusalException Unreadable(string detail) => Refusal.Unfit("rule", "rule-unreadable", detail);

    [GeneratedRegex(@"\A(MO|TU|WE|TH|FR|SA|SU)\z")]
    private static partial Regex Weekday();

    [GeneratedRegex(@"\A([+-]?(0?[1-9]|[1-4][0-9]|5[0-3]))?(MO|TU|WE|TH|FR|SA|SU)\z")]
    private static partial Regex NumberedWeekday();

    [GeneratedRegex(@"\A[+-]?[0-9]{1,4}\z")]
    private static partial Regex Number();
}
