using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>
/// Tells the log why PostgreSQL fails, each cause once: while it is away every request fails alike, and a trace of each
/// says no more than the first.
/// </summary>
public sealed class OutageLog(ILogger<OutageLog> logger, TimeProvider clock)
{
    /// <summary>How long a cause has to be quiet for, to be told again at once when it is back.</summary>
    public static readonly TimeSpan Over = TimeSpan.FromMinutes(1);

    /// <summary>How often one that goes on is told.</summary>
    public static readonly TimeSpan Reminder = TimeSpan.FromMinutes(10);

    private readonly Dictionary<string, Seen> _causes = new(StringComparer.Ordinal);

    /// <summary>Tells a failure, unless its cause has just been told.</summary>
    public void Tell(Exception failure)
    {
        ArgumentNullException.ThrowIfNull(failure);
        var server = Chain(failure).OfType<PostgresException>().FirstOrDefault();
        var isAway = server is null
            ? Chain(failure).Any(f => f is NpgsqlException or TimeoutException)
            : server.SqlState is ['5', '7', ..] or ['0', '8', ..];
        if (IsToldNow(isAway ? "away" : $"{failure.GetBaseException().GetType()} {server?.SqlState}") is not { } more)
        {
            return;
        }

        var others = more > 0 ? $" It has failed {more} more times since this was told last." : "";
        if (isAway)
        {
            // Where in the program it was noticed says nothing about the cause.
            logger.LogError("PostgreSQL does not answer; until it does, requests are answered 503 and this is not told "
                + "again: {Causes}{Others}", string.Join(" ", Chain(failure).Select(f => f.Message).Distinct()),
                others);
        }
        else
        {
            logger.LogError(failure, "PostgreSQL failed; more of the same is not told again.{Others}", others);
        }
    }

    /// <summary>
    /// How often the cause was passed over since it was told last; null when it is not to be told now.
    /// </summary>
    private int? IsToldNow(string cause)
    {
        var now = clock.GetTimestamp();
        lock (_causes)
        {
            var isKnown = _causes.TryGetValue(cause, out var seen);
            if (isKnown && clock.GetElapsedTime(seen.Last, now) < Over
                && clock.GetElapsedTime(seen.Told, now) < Reminder)
            {
                _causes[cause] = seen with { Last = now, More = seen.More + 1 };
                return null;
            }

            _causes[cause] = new Seen(now, now, 0);
            return isKnown ? seen.More : 0;
        }
    }

    private static IEnumerable<Exception> Chain(Exception failure)
    {
        for (var next = failure; next is not null; next = next.InnerException)
        {
            yield return next;
        }
    }

    private readonly record struct Seen(long Told, long Last, int More);
}
