using System.Collections.Immutable;
using CashEvents.Domain.Amounts;

namespace CashEvents.Domain.Books;

/// <summary>The closing balance of a place on each day that money moved there.</summary>
/// <param name="Day">The household's date.</param>
/// <param name="Closing">Balance at the end of that day.</param>
public readonly record struct DayClosing(DateOnly Day, Money Closing);

/// <summary>A place's closing balances in date order. The work of a back-dated change follows the days back to it, not the length of the book.</summary>
public sealed class DailyBalances
{
    private readonly ImmutableList<DayClosing> _days;

    private DailyBalances(ImmutableList<DayClosing> days) => _days = days;

    /// <summary>A place in which no money has moved.</summary>
    public static DailyBalances Empty { get; } = new([]);

    /// <summary>From stored days.</summary>
    /// <param name="days">In date order, each date once.</param>
    public static DailyBalances Of(IEnumerable<DayClosing> days) => new([.. days]);

    /// <summary>The days on which money moved, in date order.</summary>
    public IReadOnlyList<DayClosing> Days => _days;

    /// <summary>Balance at the end of a day; zero before the first.</summary>
    public Money On(DateOnly day)
    {
        var index = IndexUpTo(day);
        return index < 0 ? Money.Zero : _days[index].Closing;
    }

    /// <summary>The last day, up to one, on which money moved; null when none did.</summary>
    public DayClosing? LastUpTo(DateOnly day)
    {
        var index = IndexUpTo(day);
        return index < 0 ? null : _days[index];
    }

    /// <summary>The lowest closing balance from a day on, and the day it stands at: what can be taken on that day without a later one falling below zero.</summary>
    public DayClosing LowestFrom(DateOnly day)
    {
        var index = IndexUpTo(day);
        var lowest = new DayClosing(day, index < 0 ? Money.Zero : _days[index].Closing);
        for (var i = index + 1; i < _days.Count; i++)
        {
            if (_days[i].Closing < lowest.Closing)
            {
                lowest = _days[i];
            }
        }

        return lowest;
    }

    /// <summary>The balances after a change on a day, which every later day carries too.</summary>
    public DailyBalances Post(DateOnly day, Money change)
    {
        var index = IndexUpTo(day);
        var days = _days;
        if (index >= 0 && days[index].Day == day)
        {
            days = days.SetItem(index, new DayClosing(day, days[index].Closing + change));
        }
        else
        {
            var opening = index < 0 ? Money.Zero : days[index].Closing;
            days = days.Insert(++index, new DayClosing(day, opening + change));
        }

        for (var i = index + 1; i < days.Count; i++)
        {
            days = days.SetItem(i, new DayClosing(days[i].Day, days[i].Closing + change));
        }

        return new DailyBalances(days);
    }

    // Nearly every change is on the last day or after it, so the search starts there.
    private int IndexUpTo(DateOnly day)
    {
        var last = _days.Count - 1;
        if (last < 0 || _days[last].Day <= day)
        {
            return last;
        }

        var low = 0;
        var high = last;
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (_days[middle].Day <= day)
            {
                low = middle + 1;
            }
            else
            {
                high = middle;
            }
        }

        return low - 1;
    }
}
