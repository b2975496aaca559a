using System.Collections.Concurrent;
using Marten;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>
/// The one way into the books. Each book has a queue with one writer: what waits together is decided one after another
/// and committed in one transaction,
/// so that many senders share a single disk flush and never fight over the end of the book.
/// </summary>
public sealed class BookWriter : IHostedService, IDisposable
{
    /// <summary>How long a book that nobody writes in stays in memory.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromMinutes(15);

    private static readonly TimeSpan LooksEvery = TimeSpan.FromMinutes(1);

    private readonly ConcurrentDictionary<string, BookQueue> _queues = new(StringComparer.Ordinal);
    private readonly BookCommitter _committer;
    private readonly OutageLog _outages;
    private readonly ILogger<BookWriter> _logger;
    private readonly TimeProvider _clock;
    private readonly NewLines _newLines;
    private ITimer? _looks;
    private volatile bool _stopping;

    /// <summary>A writer for all the books of a store.</summary>
    public BookWriter(IDocumentStore store, NpgsqlDataSource database, TimeProvider clock, ClockTrust trust,
        OutageLog outages, NewLines newLines, WritingMeasures measures, ILogger<BookWriter> logger)
    {
        _newLines = newLines;
        _committer = new BookCommitter(store, database, clock, trust, measures, logger);
        _outages = outages;
        _logger = logger;
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
            var queue = _queues.GetOrAdd(request.Household,
                household => new BookQueue(household, _committer, _outages, _newLines, _logger, _clock));
            if (queue.TryWrite(request) is { } answer)
            {
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
    public Task StopAsync(CancellationToken cancellationToken)
    {
        _stopping = true;
        _looks?.Dispose();
        return Task.WhenAll(_queues.Values.Select(queue => queue.FinishAsync()));
    }

    /// <inheritdoc />
    public void Dispose() => _looks?.Dispose();

    /// <summary>How many books are in memory to be written in.</summary>
    public int InMemory => _queues.Count;

    /// <summary>How many requests wait to be written, in all books.</summary>
    public int Waiting => _queues.Values.Sum(queue => queue.Length);

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
