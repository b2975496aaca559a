using System.Diagnostics;
using Microsoft.Extensions.Logging;

namespace CashEvents.EmbeddedPostgres;

/// <summary>The watch over the running server: one that ends by itself is started again.</summary>
public sealed partial class PrivatePostgres
{
    private static readonly TimeSpan _lookEvery = TimeSpan.FromMilliseconds(100);

    // A server that lived this long did not end because of its start.
    private static readonly TimeSpan _longLife = TimeSpan.FromMinutes(1);

    private static readonly TimeSpan _longestPauseAfterShortLife = TimeSpan.FromSeconds(0.5);

    private readonly TaskCompletionSource<PrivatePostgresException> _givenUp = new(
        TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly CancellationTokenSource _stopping = new();
    private Task _watch = Task.CompletedTask;

    /// <summary>
    /// After the server ended by itself and was started again. The connection string is the same; connections made
    /// before are broken.
    /// </summary>
    public event EventHandler? Restarted;

    /// <summary>How the server is.</summary>
    public ServerCondition Condition { get; private set; } = new(ServerState.Running, 0, 0, null, null);

    /// <summary>
    /// Completes, with what was the matter, when the server ended by itself and
    /// <see cref="PrivatePostgresOptions.MostFailedStarts"/> starts in a row failed; otherwise never.
    /// </summary>
    public Task<PrivatePostgresException> GivenUp => _givenUp.Task;

    private async Task WatchAsync(CancellationToken stopping)
    {
        var shortLives = 0;
        try
        {
            while (!_givenUp.Task.IsCompleted)
            {
                var lived = await UntilEndedAsync(stopping).ConfigureAwait(false);
                shortLives = lived < _longLife ? shortLives + 1 : 0;
                Condition = Condition with { State = ServerState.Starting, EndedAt = _options.Clock.GetUtcNow() };
                _logger.LogWarning("PostgreSQL (process {ProcessId}) ended by itself and is started again. {Log}",
                    ProcessId, Log.Tail(0, lines: 3));
                await StartAgainAsync(Pause(shortLives - 1, _lookEvery, _longestPauseAfterShortLife), stopping)
                    .ConfigureAwait(false);
            }
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            // The program stops.
        }
#pragma warning disable CA1031 // A server that nobody watches any more must not look as if it were watched.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            _givenUp.TrySetResult(new PrivatePostgresException($"The embedded PostgreSQL could not be watched any "
                + $"longer: {failure.Message}", failure));
        }
    }

    /// <returns>How long the server ran while it was watched.</returns>
    private async Task<TimeSpan> UntilEndedAsync(CancellationToken stopping)
    {
        var since = Stopwatch.StartNew();
        using var running = Postmaster.Find(ProcessId);
        while (running is { HasExited: false } && !Postmaster.IsZombie(ProcessId))
            await Task.Delay(_lookEvery, stopping).ConfigureAwait(false);
        return since.Elapsed;
    }

    /// <summary>Starts the server until it runs, or gives it up.</summary>
    private async Task StartAgainAsync(TimeSpan pause, CancellationToken stopping)
    {
        for (var failed = 0; ;)
        {
            Condition = Condition with
            {
                State = pause > TimeSpan.Zero ? ServerState.Waiting : ServerState.Starting,
                FailedStarts = failed,
                NextStartAt = _options.Clock.GetUtcNow() + pause
            };
            await Task.Delay(pause, stopping).ConfigureAwait(false);
            Condition = Condition with { State = ServerState.Starting, NextStartAt = null };
            try
            {
                await RunServerAsync(stopping).ConfigureAwait(false);
                Restarted?.Invoke(this, EventArgs.Empty);
                Condition = Condition with
                {
                    State = ServerState.Running,
                    Restarts = Condition.Restarts + 1,
                    FailedStarts = 0
                };
                _logger.LogWarning("PostgreSQL (process {ProcessId}) runs again", ProcessId);
                return;
            }
#pragma warning disable CA1031 // Whatever keeps it from starting, such as a full disk, may have passed by the next try.
            catch (Exception failure) when (!stopping.IsCancellationRequested)
#pragma warning restore CA1031
            {
                failed++;
                if (failed >= _options.MostFailedStarts)
                {
                    Condition = Condition with { State = ServerState.GivenUp, FailedStarts = failed };
                    _givenUp.SetResult(new PrivatePostgresException($"PostgreSQL ended by itself, and {failed} starts "
                        + $"in a row failed. {failure.Message}", failure));
                    return;
                }

                pause = Pause(failed, _options.FirstPause, _options.LongestPause);
                _logger.LogError("PostgreSQL could not be started again (try {Try} of {Most}; the next in {Seconds} "
                    + "s): {Failure}", failed, _options.MostFailedStarts, pause.TotalSeconds, failure.Message);
            }
        }
    }

    /// <summary>None at first, then each twice as long as the one before.</summary>
    private static TimeSpan Pause(int before, TimeSpan first, TimeSpan longest) =>
        before < 1 ? TimeSpan.Zero : before > 20
            ? longest
            : TimeSpan.FromTicks(Math.Min(first.Ticks << (before - 1), longest.Ticks));
}
