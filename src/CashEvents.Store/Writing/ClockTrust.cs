using System.Globalization;

namespace CashEvents.Store.Writing;

/// <summary>
/// What to do when the machine's clock is behind the book's last line. A small step back is only the clock being set
/// right,
/// and the line is stamped as late as the one before it. A larger one means that the clock is wrong now (a machine that
/// forgets the time when it is off) or was wrong then; dates taken from it would be wrong too, so nothing is written.
/// </summary>
/// <param name="Always">Take the clock's word for it: it was wrong then and is right now.</param>
public sealed record ClockTrust(bool Always = false)
{
    /// <summary>The largest step back that is taken for the clock being set right.</summary>
    public static readonly TimeSpan SmallStep = TimeSpan.FromMinutes(1);

    /// <summary>The instant to stamp a line with.</summary>
    /// <param name="last">The last line's.</param>
    /// <param name="now">The clock's.</param>
    /// <exception cref="ClockBehindException">The clock is further behind than a small step.</exception>
    public DateTimeOffset After(DateTimeOffset last, DateTimeOffset now) =>
        now >= last || Always ? now
        : last - now <= SmallStep ? last
        : throw new ClockBehindException(string.Create(CultureInfo.InvariantCulture,
            $"This machine's clock says {now:yyyy-MM-dd HH:mm:ss} UTC, but the book's last line was written at "
                + $"{last:yyyy-MM-dd HH:mm:ss} UTC. Nothing was written: set the clock. If it is right now and was "
                + $"ahead then, a keeper says so with POST /api/clock-corrections, and writing goes on."));
}

/// <summary>The machine's clock is behind the book; nothing was written.</summary>
public sealed class ClockBehindException(string message) : Exception(message);
