using System.Collections.Concurrent;

namespace CashEvents.Api.Books;

/// <summary>How a rebuild stands.</summary>
public enum RebuildStatus
{
    /// <summary>Lines are being taken in and compared.</summary>
    Running,

    /// <summary>Finished; what differed was put right.</summary>
    Done,

    /// <summary>Something went wrong; nothing was changed.</summary>
    Failed,
}

/// <summary>A rebuild of one household, and how it stands.</summary>
internal sealed class RebuildJob(string household, TimeProvider clock) : IProgress<RebuildProgress>
{
    private readonly TaskCompletionSource _ended = new(TaskCreationOptions.RunContinuationsAsynchronously);

    public string Id { get; } = Guid.NewGuid().ToString("N");

    public string Household { get; } = household;

    public DateTimeOffset StartedAt { get; } = clock.GetUtcNow();

    public DateTimeOffset? EndedAt { get; private set; }

    public RebuildProgress Progress { get; private set; }

    public RebuildFinding? Finding { get; private set; }

    public RebuildStatus Status { get; private set; } = RebuildStatus.Running;

    /// <summary>Ends when the rebuild does, however it does.</summary>
    public Task Ended => _ended.Task;

    public void Report(RebuildProgress value) => Progress = value;

    public void End(RebuildFinding? finding)
    {
        Finding = finding;
        EndedAt = clock.GetUtcNow();
        Status = finding is null ? RebuildStatus.Failed : RebuildStatus.Done;
        _ended.SetResult();
    }
}

/// <summary>
/// Runs rebuilds, one at a time for each household, and remembers the last of each until the program ends.
/// </summary>
internal sealed class RebuildDesk(Rebuilder rebuilder, TimeProvider clock, IHostApplicationLifetime lifetime,
    ILogger<RebuildDesk> logger)
{
    private readonly ConcurrentDictionary<string, RebuildJob> _jobs = new(StringComparer.Ordinal);
    private readonly Lock _starting = new();

    /// <summary>Starts a rebuild; the one that is running, if one is.</summary>
    public RebuildJob Start(string household)
    {
        lock (_starting)
        {
            if (_jobs.TryGetValue(household, out var running) && running.Status == RebuildStatus.Running)
            {
                return running;
            }

            var job = _jobs[household] = new RebuildJob(household, clock);
            _ = Task.Run(() => RunAsync(job));
            return job;
        }
    }

    /// <summary>A household's rebuild; null when it is not its last, or another program's.</summary>
    public RebuildJob? Find(string household, string id) =>
        _jobs.TryGetValue(household, out var job) && job.Id == id ? job : null;

    private async Task RunAsync(RebuildJob job)
    {
        RebuildFinding? finding = null;
        try
        {
            finding = await rebuilder.RebuildAsync(job.Household, job, lifetime.ApplicationStopping)
                .ConfigureAwait(false);
        }
#pragma warning disable CA1031 // Whatever went wrong, whoever waits must be told that it is over.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            logger.LogError(failure, "The rebuild of {Household} failed; nothing was changed.", job.Household);
        }

        job.End(finding);
    }
}
