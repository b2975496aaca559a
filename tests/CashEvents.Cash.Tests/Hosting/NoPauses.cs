namespace CashEvents.Cash.Tests.Hosting;

/// <summary>
/// A clock on which every pause of less than an answer's time is over at once. It remembers what was asked for.
/// </summary>
internal sealed class NoPauses : TimeProvider
{
    private readonly List<TimeSpan> _pauses = [];

    public IReadOnlyList<TimeSpan> Pauses => _pauses;

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        if (dueTime == Timeout.InfiniteTimeSpan || dueTime >= new CashEventsClientOptions().AnswerWithin)
        {
            return base.CreateTimer(callback, state, dueTime, period);
        }

        _pauses.Add(dueTime);
        return base.CreateTimer(callback, state, TimeSpan.Zero, period);
    }
}
