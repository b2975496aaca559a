namespace CashEvents.Api.Hosting;

/// <summary>
/// Gives memory back once the program rests. The runtime collects while there is work; what the last work left would
/// stay until the next, and a household's server mostly rests.
/// </summary>
internal sealed class IdleMemory(TimeProvider clock) : BackgroundService
{
    /// <summary>What the program takes by itself between two looks, in bytes; more is work.</summary>
    public const long Rest = 4 << 20;

    /// <summary>From how much on it is worth to collect, in bytes.</summary>
    public const long Worth = 16 << 20;

    private static readonly TimeSpan _every = TimeSpan.FromSeconds(20);

    private long _seen;
    private long _collected;

    /// <summary>Looks at what was taken since the start, in bytes.</summary>
    /// <returns>Whether the program rests, and much of that may have been left.</returns>
    public bool IsDue(long taken)
    {
        var (rests, left) = (taken - _seen < Rest, taken - _collected);
        _seen = taken;
        if (!rests || left < Worth)
        {
            return false;
        }

        _collected = taken;
        return true;
    }

    /// <inheritdoc />
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var looks = new PeriodicTimer(_every, clock);
        try
        {
            while (await looks.WaitForNextTickAsync(stoppingToken).ConfigureAwait(false))
            {
                if (IsDue(GC.GetTotalAllocatedBytes()))
                {
                    GC.Collect(GC.MaxGeneration, GCCollectionMode.Aggressive, blocking: true, compacting: true);
                }
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The program stops.
        }
    }
}
