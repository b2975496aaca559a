using System.Collections.Concurrent;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>
/// The one way into the books. Each book has a queue, and belongs to one of a few lanes: what waits together is decided
/// one after another and committed in one transaction, that of many households too,
/// so that many senders share a single disk flush and never fight over the end of the book.
/// </summary>
public sealed class BookWriter : IHostedService, IDisposable
{
    /// <summary>How long a book that nobody writes in stays in memory.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromMinutes(15);

    /// <summary>Transactions that write for many households at once.</summary>
    private const int Lanes = 2;

    /// <summary>Connections on which books are read at once, so that whoever writes finds one.</summary>
    private const int MostReads = 4;

    /// <summary>Books shared with another server that are written at once, or wait for it.</summary>
    private const int MostTurns = 8;

    private static readonly TimeSpan LooksEvery = TimeSpan.FromMinutes(1);

    private readonly ConcurrentDictionary<string, BookQueue> _queues = new(StringComparer.Ordinal);
    private readonly SemaphoreSlim _reads = new(MostReads);
    private readonly SemaphoreSlim _turns = new(MostTurns);
    private readonly Lane[] _lanes;
    private readonly TimeProvider _clock;
    private ITimer? _looks;
    private volatile bool _stopping;

    /// <summary>A writer for all the books of a store.</summary>
    public BookWriter(NpgsqlDataSource database, TimeProvider clock, ClockTrust trust, OutageLog outages,
        NewLines newLines, WritingMeasures measures, ILogger<BookWriter> logger)
    {
        var clerk = new Clerk(clock, trust, logger);
        var committer = new BookCommitter(database, clerk, measures, logger);
        var groups = new GroupCommitter(database, clerk, measures);
        var alone = new LoneWriter(committer, newLines, outages, _turns, logger);
        _lanes = [.. Enumerable.Range(0, Lanes).Select(_ => new Lane(committer, groups, alone, newLines, _reads))];
        _clock = clock;
    }

    /// <summary>
    /// Writes what a request asks for. Once it is accepted it is finished, whether or not the sender still waits.
    /// </summary>
    /// <exception cref="BookBusyException">Too much is waiting for this book, or the program is stopping; nothing was
    /// written.</exception>
    /// <exception cref="ClockBehindException">The machine's clock is behind the book; nothing was written.</exception>
    /// <exception cref="BookMisfitException">What is kept beside the book's lines is not of them; nothing was
    /// written.</exception>
    /// <exception cref="BookUnavailableException">PostgreSQL failed; whether it was written is unknown.</exception>
    public Task<WriteResult> WriteAsync(WriteRequest request)
    {
        ArgumentNullException.ThrowIfNull(request);
        while (!_stopping)
        {
            var queue = _queues.GetOrAdd(request.Household, household => new BookQueue(household, _clock));
            if (queue.TryWrite(request, out var begins) is { } answer)
            {
                if (begins)
                {
                    LaneOf(request.Household).Put(queue);
                }

                return answer;
            }

            // It was let go in this very moment.
            _queues.TryRemove(KeyValuePair.Create(request.Household, queue));
        }

        throw new BookBusyException("The program is stopping: send the request again when it is back.");
    }

    /// <inheritdoc />
    public Task StartAsync(CancellationToken cancellationToken)
    {
        _looks = _clock.CreateTimer(_ => LetGo(), null, LooksEvery, LooksEvery);
        return Task.CompletedTask;
    }

    /// <summary>Takes no more requests and finishes those accepted.</summary>
    public async Task StopAsync(CancellationToken cancellationToken)
    {
        _stopping = true;
        _looks?.Dispose();
        await Task.WhenAll(_queues.Values.Select(queue => queue.FinishAsync())).ConfigureAwait(false);
        Array.ForEach(_lanes, lane => lane.Close());
    }

    /// <inheritdoc />
    public void Dispose()
    {
        _looks?.Dispose();
        _reads.Dispose();
        _turns.Dispose();
    }

    /// <summary>How many books are in memory to be written in.</summary>
    public int InMemory => _queues.Count;

    /// <summary>How many requests wait to be written, in all books.</summary>
    public int Waiting => _queues.Values.Sum(queue => queue.Length);

    private Lane LaneOf(string household) =>
        _lanes[(uint)household.GetHashCode(StringComparison.Ordinal) % Lanes];

    private void LetGo()
    {
        foreach (var (household, queue) in _queues.Where(q => q.Value.IdleFor >= KeptFor))
        {
            _ = queue.FinishAsync();
            _queues.TryRemove(KeyValuePair.Create(household, queue));
        }
    }
}

/// <summary>A book's queue is full; send again a little later.</summary>
public sealed class BookBusyException(string message) : Exception(message);

/// <summary>
/// PostgreSQL failed while writing. With an idempotency key the request can be sent again without fear of doubling.
/// </summary>
public sealed class BookUnavailableException(string message, Exception inner) : Exception(message, inner);
