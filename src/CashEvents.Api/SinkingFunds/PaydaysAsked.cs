using System.Globalization;
using CashEvents.Api.Http;
using CashEvents.Domain.Periods;

namespace CashEvents.Api.SinkingFunds;

/// <summary>The paydays that contributions are counted by, as a question names them.</summary>
/// <param name="Next">The next payday, which is still to come.</param>
/// <param name="Every">The period from one to the next.</param>
internal sealed record PaydaysAsked(DateOnly Next, Period Every)
{
    /// <summary>Names of the parameters that say it.</summary>
    public const string NextPayday = "nextPayday", Paydays = "paydays";

    /// <summary>Reads the parameters; the first of each month where they are left out.</summary>
    public static PaydaysAsked Of(string? nextPayday, string? paydays, DateOnly today)
    {
        var next = Reads.Day(nextPayday, NextPayday) ?? new DateOnly(today.Year, today.Month, 1).AddMonths(1);
        return next >= today && next <= today.AddYears(1) ? new PaydaysAsked(next, paydays is null ? new Period(1, 'M') : Period.Read(paydays, Paydays))
            : throw new MalformedException(NextPayday, string.Create(CultureInfo.InvariantCulture, $"`{NextPayday}` is the next payday, from today, {today:yyyy-MM-dd}, up to a year ahead."));
    }

    /// <summary>Paydays among which a year's interest is shared out.</summary>
    public int InAYear => Math.Max(1, Between(Next, Next.AddYears(1).AddDays(-1)).Count);

    /// <summary>The paydays from one day to another, past ones as far back as the period goes.</summary>
    public IReadOnlyList<DateOnly> Between(DateOnly from, DateOnly to)
    {
        var first = 0;
        while (Every.After(Next, first) > from)
        {
            first--;
        }

        return [.. Days(first).SkipWhile(day => day < from).TakeWhile(day => day <= to)];
    }

    private IEnumerable<DateOnly> Days(int first)
    {
        for (var payday = first; ; payday++)
        {
            yield return Every.After(Next, payday);
        }
    }
}
