using System.Collections.Immutable;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Domain.Books;

/// <summary>The closing balance of a place on each day that money moved there.</summary>
/// <param name="Day">The household's date.</param>
/// <param name="Closing">Balance at the end of that day.</param>
public readonly record struct DayClosing(DateOnly Day, Money Closing);

/// <summary>
/// A place's closing balances in date order. The work of a back-dated change follows the days back to it, not the
/// length of the book.
/// </summary>
[JsonConverter(typeof(AsDays))]
public sealed class DailyBalances
{
    // Nearly every change is on the last day, so that one stands by itself: the earlier ones stay as they are.
    private readonly ImmutableList<DayClosing> _earlier;
    private readonly DayClosing? _last;

    private DailyBalances(ImmutableList<DayClosing> earlier, DayClosing? last) => (_earlier, _last) = (earlier, last);

    /// <summary>A place in which no money has moved.</summary>
    public static DailyBalances Empty { get; } = new([], null);

    /// <summary>From stored days.</summary>
    /// <param name="days">In date order, each date once.</param>
    public static DailyBalances Of(IEnumerable<DayClosing> days)
    {
        ImmutableList<DayClosing> all = [.. days];
        return all.IsEmpty ? Empty : new DailyBalances(all.RemoveAt(all.Count - 1), all[^1]);
    }

    /// <summary>The days on which money moved, in date order.</summary>
    public IReadOnlyList<DayClosing> Days => _last is { } last ? _earlier.Add(last) : _earlier;

    /// <summary>The same from a day on, with what was there at its beginning.</summary>
    internal DailyBalances From(DateOnly day) =>
        Of(Days.Skip(Math.Max(IndexUpTo(day.AddDays(-1)), 0)));

    private int Count => _last is null ? 0 : _earlier.Count + 1;

    private DayClosing this[int index] => index < _earlier.Count ? _earlier[index] : _last!.Value;

    /// <summary>Balance at the end of a day; zero before the first.</summary>
    public Money On(DateOnly day)
    {
        var index = IndexUpTo(day);
        return index < 0 ? Money.Zero : this[index].Closing;
    }

    /// <summary>The last day, up to one, on which money moved; null when none did.</summary>
    public DayClosing? LastUpTo(DateOnly day)
    {
        var index = IndexUpTo(day);
        return index < 0 ? null : this[index];
    }

    /// <summary>The days from one on, that one included, in date order.</summary>
    public IEnumerable<DayClosing> Since(DateOnly day)
    {
        var first = IndexUpTo(day);
        for (var i = first >= 0 && this[first].Day == day ? first : first + 1; i < Count; i++)
        {
            yield return this[i];
        }
    }

    /// <summary>The first day after one on which money moved; null when none did.</summary>
    public DateOnly? FirstAfter(DateOnly day) => IndexUpTo(day) + 1 is var next && next < Count ? this[next].Day : null;

    /// <summary>The last day, up to one, that closed higher than the one before it; null when none did.</summary>
    public DateOnly? LastRise(DateOnly upTo)
    {
        for (var i = IndexUpTo(upTo); i >= 0; i--)
        {
            if (this[i].Closing > (i > 0 ? this[i - 1].Closing : Money.Zero))
            {
                return this[i].Day;
            }
        }

        return null;
    }

    /// <summary>
    /// The lowest closing balance from a day on, and the day it stands at: what can be taken on that day without a
    /// later one falling below zero.
    /// </summary>
    public DayClosing LowestFrom(DateOnly day)
    {
        var index = IndexUpTo(day);
        var lowest = new DayClosing(day, index < 0 ? Money.Zero : this[index].Closing);
        for (var i = index + 1; i < Count; i++)
        {
            if (this[i].Closing < lowest.Closing)
            {
                lowest = this[i];
            }
        }

        return lowest;
    }

    /// <summary>The balances after a change on a day, which every later day carries too.</summary>
    public DailyBalances Post(DateOnly day, Money change)
    {
        if (_last is not { } last)
        {
            return new DailyBalances(_earlier, new DayClosing(day, change));
        }

        if (day >= last.Day)
        {
            return day == last.Day
                ? new DailyBalances(_earlier, new DayClosing(day, last.Closing + change))
                : new DailyBalances(_earlier.Add(last), new DayClosing(day, last.Closing + change));
        }

        var index = IndexUpTo(day);
        var days = _earlier;
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

        return new DailyBalances(days, new DayClosing(last.Day, last.Closing + change));
    }

    // The search starts at the end.
    private int IndexUpTo(DateOnly day)
    {
        var last = Count - 1;
        if (last < 0 || this[last].Day <= day)
        {
            return last;
        }

        var low = 0;
        var high = last;
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (this[middle].Day <= day)
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

    private sealed class AsDays : JsonConverter<DailyBalances>
    {
        public override DailyBalances Read(ref Utf8JsonReader reader, Type typeToConvert,
            JsonSerializerOptions options) =>
            Of(JsonSerializer.Deserialize<ImmutableArray<DayClosing>>(ref reader, options));

        public override void Write(Utf8JsonWriter writer, DailyBalances value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, value.Days, options);
    }
}
