using System.Globalization;

namespace CashEvents.Api.Paydays;

/// <summary>Time that goes on evenly whatever the clock is set to, from any beginning.</summary>
/// <param name="Now">How long it has gone on.</param>
internal sealed record SteadyTime(Func<TimeSpan> Now)
{
    private const string Uptime = "/proc/uptime";

    /// <summary>
    /// On Linux the time since the machine was started, which goes on while it sleeps; elsewhere the clock's own time
    /// stamps.
    /// </summary>
    public static SteadyTime Of(TimeProvider clock) => clock == TimeProvider.System && File.Exists(Uptime)
        ? new(() => TimeSpan.FromSeconds(
            double.Parse(File.ReadAllText(Uptime).Split(' ')[0], CultureInfo.InvariantCulture)))
        : new(() => clock.GetElapsedTime(0));
}

/// <summary>What was seen of the time.</summary>
/// <param name="Now">What the clock says.</param>
/// <param name="Believed">What it is by the second witness, when the clock is more than a day ahead of that; otherwise
/// what the clock says.</param>
/// <param name="Since">When the clock was first looked at; how it came there no witness of this program saw.</param>
internal sealed record Look(DateTimeOffset Now, DateTimeOffset Believed, DateTimeOffset Since);

/// <summary>
/// Asks somebody else than the clock how late it is, before anything is written that the clock alone calls for: steady
/// time since the last look, or the
/// database's clock when that is another machine's.
/// </summary>
/// <param name="clock">The clock.</param>
/// <param name="steady">What it is compared with.</param>
/// <param name="trust">Whether the clock is believed whatever it says.</param>
/// <param name="elsewhere">Another machine's clock; null when there is none.</param>
internal sealed class SecondWitness(TimeProvider clock, SteadyTime steady, ClockTrust trust,
    Func<CancellationToken, Task<DateTimeOffset?>> elsewhere)
{
    /// <summary>
    /// How much further than the witness the clock may be: daylight saving, drift and a clock that was set by hand are
    /// less.
    /// </summary>
    public static readonly TimeSpan Slack = TimeSpan.FromDays(1);

    private volatile Believed? _last;

    /// <summary>Looks at the clock and at who else knows.</summary>
    public async Task<Look> LookAsync(CancellationToken cancellation)
    {
        var (now, even) = (clock.GetUtcNow(), steady.Now());
        var last = _last;
        var since = last is null || last.Since > now ? now : last.Since;
        var expected = last is null ? now : last.Clock + (even - last.Steady);
        if (!trust.Always && (last is null || now - expected > Slack))
        {
            var other = await elsewhere(cancellation).ConfigureAwait(false);
            if (other is null ? last is not null : now - other > Slack)
            {
                return new Look(now, other ?? expected, since);
            }
        }

        _last = new Believed(now, even, since);
        return new Look(now, now, since);
    }

    private sealed record Believed(DateTimeOffset Clock, TimeSpan Steady, DateTimeOffset Since);
}
