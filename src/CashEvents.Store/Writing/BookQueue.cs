using System.Threading.Channels;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>The requests that wait for one book, and the loop that writes them.</summary>
internal sealed class BookQueue
{
    /// <summary>Requests that may wait; one more is sent away.</summary>
    private const int MostWaiting = 1024;

    /// <summary>Commands written in one transaction.</summary>
    private const int MostTogether = 256;

    private readonly Channel<Waiting> _waiting =
        Channel.CreateBounded<Waiting>(new BoundedChannelOptions(MostWaiting) { SingleReader = true });
    private readonly string _household;
    private readonly BookCommitter _committer;
    private readonly OutageLog _outages;
    private readonly NewLines _newLines;
    private readonly ILogger _logger;
    private readonly TimeProvider _clock;
    private readonly Task _loop;
    private long _lastAsked;
    private volatile bool _finishes;

    // The page as this server last wrote or read it; null until it is needed, and after a failure.
    private BookPage? _page;

    public BookQueue(string household, BookCommitter committer, OutageLog outages, NewLines newLines, ILogger logger,
        TimeProvider clock)
    {
        _newLines = newLines;
        _household = household;
        _committer = committer;
        _outages = outages;
        _logger = logger;
        _clock = clock;
        _lastAsked = clock.GetTimestamp();
        _loop = Task.Run(KeepWritingAsync);
    }

    /// <summary>How long ago it was last asked to write.</summary>
    public TimeSpan IdleFor => _clock.GetElapsedTime(Volatile.Read(ref _lastAsked));

    /// <summary>How many requests wait.</summary>
    public int Length => _waiting.Reader.Count;

    /// <summary>
    /// Puts a request in the queue; null when the queue has been let go, and another has to be asked.
    /// </summary>
    /// <exception cref="BookBusyException">The queue is full.</exception>
    public Task<WriteResult>? TryWrite(WriteRequest request)
    {
        Volatile.Write(ref _lastAsked, _clock.GetTimestamp());
        var waiting = new Waiting(request,
            new TaskCompletionSource<WriteResult>(TaskCreationOptions.RunContinuationsAsynchronously));
        return _waiting.Writer.TryWrite(waiting) ? waiting.Answer.Task
            : _finishes ? null
            : throw new BookBusyException($"{MostWaiting} requests are waiting for this book: send the request again "
                + $"in a second.");
    }

    /// <summary>Takes no more requests, and is done when those that wait are.</summary>
    public Task FinishAsync()
    {
        _finishes = true;
        _waiting.Writer.TryComplete();
        return _loop;
    }

    private async Task KeepWritingAsync()
    {
        var together = new List<Waiting>();
        while (await _waiting.Reader.WaitToReadAsync().ConfigureAwait(false))
        {
            together.Clear();
            var commands = 0;
            while (commands < MostTogether && _waiting.Reader.TryRead(out var next))
            {
                together.Add(next);
                commands += next.Request.Entries.Length;
            }

            await WriteTogetherAsync(together).ConfigureAwait(false);
        }
    }

    private async Task WriteTogetherAsync(List<Waiting> together)
    {
        try
        {
            var written = await _committer.CommitAsync(_household, _page, [.. together.Select(w => w.Request)])
                .ConfigureAwait(false);
            var isNew = _page?.Book.Line != written.Page.Book.Line;
            _page = written.Page;
            if (isNew)
            {
                _newLines.Wrote(_household, written.Page.Book.Line);
            }

            for (var i = 0; i < together.Count; i++)
            {
                together[i].Answer.SetResult(written.Results[i]);
            }
        }
        catch (ClockBehindException) when (together.Count > 1)
        {
            // One of them may say that the clock was ahead: those after it can be written then.
            foreach (var waiting in together.ToList())
            {
                await WriteTogetherAsync([waiting]).ConfigureAwait(false);
            }
        }
        catch (ClockBehindException behind)
        {
            together.ForEach(waiting => waiting.Answer.SetException(behind));
        }
        catch (BookMisfitException misfit)
        {
            _page = null;
            _logger.LogError("The book of {Household} can't be written. {Reason}", _household, misfit.Message);
            together.ForEach(waiting => waiting.Answer.SetException(misfit));
        }
#pragma warning disable CA1031 // Whatever went wrong, each sender must get an answer and the queue must live on.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            _page = null;
            _outages.Tell(failure);
            var answer = new BookUnavailableException(Explain(failure), failure);
            foreach (var waiting in together)
            {
                waiting.Answer.TrySetException(answer);
            }
        }
    }

    private static string Explain(Exception failure)
    {
        var cause = failure is PostgresException ? failure : failure.GetBaseException();

        // A server that panics may have written the commit before it did, and keep it when it has recovered.
        return cause is PostgresException { SqlState: PostgresErrorCodes.DiskFull, InvariantSeverity: "ERROR" }
            ? "The disk that PostgreSQL writes to is full, and nothing of this was written: free some room, then send "
                + "the request again."
            : "PostgreSQL failed while this was being written, so it may or may not stand in the book: send it again "
                + "with the same Idempotency-Key, or look at GET /api/lines first.";
    }

    private sealed record Waiting(WriteRequest Request, TaskCompletionSource<WriteResult> Answer);
}
