using System.Collections.Immutable;

namespace CashEvents.Store.Writing;

/// <summary>A request that waits for its answer.</summary>
internal sealed record Waiting(WriteRequest Request)
{
    /// <summary>Is told what became of it.</summary>
    public TaskCompletionSource<WriteResult> Answer { get; } =
        new(TaskCreationOptions.RunContinuationsAsynchronously);
}

/// <summary>The requests that wait for one book. Whoever is at work on it has it for himself.</summary>
internal sealed class BookQueue(string household, TimeProvider clock)
{
    /// <summary>Requests that may wait; one more is sent away.</summary>
    private const int MostWaiting = 1024;

    /// <summary>Commands written in one transaction.</summary>
    private const int MostTogether = 256;

    // So long after another server was seen in it, a book is written in turns.
    private static readonly TimeSpan _sharedFor = TimeSpan.FromSeconds(5);

    private readonly Lock _gate = new();
    private readonly Queue<Waiting> _waiting = new();
    private readonly TaskCompletionSource _finished = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private long _lastAsked = clock.GetTimestamp();
    private long? _lastShared;
    private bool _isAtWork;
    private bool _finishes;

    /// <summary>Whose book.</summary>
    public string Household { get; } = household;

    /// <summary>
    /// The page as this server last wrote or read it; null until it is needed, and after a failure.
    /// </summary>
    public BookPage? Page { get; set; }

    /// <summary>How long ago it was last asked to write.</summary>
    public TimeSpan IdleFor => clock.GetElapsedTime(Volatile.Read(ref _lastAsked));

    /// <summary>Whether another server has written in the book a moment ago.</summary>
    public bool IsShared => _lastShared is { } last && clock.GetElapsedTime(last) < _sharedFor;

    /// <summary>How many requests wait.</summary>
    public int Length
    {
        get
        {
            lock (_gate)
            {
                return _waiting.Count;
            }
        }
    }

    /// <summary>
    /// Puts a request in the queue; null when the queue has been let go, and another has to be asked.
    /// </summary>
    /// <param name="request">The request.</param>
    /// <param name="begins">Whether somebody has to go to work on it now.</param>
    /// <exception cref="BookBusyException">The queue is full.</exception>
    public Task<WriteResult>? TryWrite(WriteRequest request, out bool begins)
    {
        Volatile.Write(ref _lastAsked, clock.GetTimestamp());
        var waiting = new Waiting(request);
        lock (_gate)
        {
            begins = false;
            if (_finishes)
            {
                return null;
            }

            if (_waiting.Count >= MostWaiting)
            {
                throw new BookBusyException($"{MostWaiting} requests are waiting for this book: send the request again "
                    + $"in a second.");
            }

            _waiting.Enqueue(waiting);
            begins = !_isAtWork;
            _isAtWork = true;
        }

        return waiting.Answer.Task;
    }

    /// <summary>Takes what waits, as far as it goes into one transaction, to be written and answered.</summary>
    public ImmutableArray<Waiting> Take()
    {
        var taken = ImmutableArray.CreateBuilder<Waiting>();
        lock (_gate)
        {
            for (var commands = 0; commands < MostTogether && _waiting.TryDequeue(out var next);
                commands += next.Request.Entries.Length)
            {
                taken.Add(next);
            }
        }

        return taken.ToImmutable();
    }

    /// <summary>What was taken has been answered: says whether more waits, and ends the work where none does.</summary>
    public bool GoesOn()
    {
        lock (_gate)
        {
            _isAtWork = _waiting.Count > 0;
            if (!_isAtWork && _finishes)
            {
                _finished.TrySetResult();
            }

            return _isAtWork;
        }
    }

    /// <summary>Answers what was taken with what came of it.</summary>
    public void Answer(ImmutableArray<Waiting> taken, Committed committed)
    {
        Page = committed.Page;
        if (committed.IsShared)
        {
            _lastShared = clock.GetTimestamp();
        }

        for (var i = 0; i < taken.Length; i++)
        {
            taken[i].Answer.SetResult(committed.Results[i]);
        }
    }

    /// <summary>Takes no more requests, and is done when those that wait are.</summary>
    public Task FinishAsync()
    {
        lock (_gate)
        {
            _finishes = true;
            if (!_isAtWork)
            {
                _finished.TrySetResult();
            }
        }

        return _finished.Task;
    }
}
