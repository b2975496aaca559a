using System.Collections.Immutable;
using System.Threading.Channels;

namespace CashEvents.Store.Writing;

/// <summary>
/// Writes for all of its households that wait, in one transaction: so many households share a disk flush and a handful
/// of statements. What would hold the others up is written by itself, beside it: a book that is shared with another
/// server, a large batch, and whatever could not be written together with others. A book that is not in memory is read
/// before it joins.
/// </summary>
internal sealed class Lane
{
    /// <summary>Books written in one transaction.</summary>
    private const int MostBooks = 64;

    /// <summary>Commands of one book with which it joins others.</summary>
    private const int MostOfOne = 64;

    /// <summary>Books read in one round trip.</summary>
    private const int MostReadTogether = 16;

    private readonly Channel<BookQueue> _ready = ForOneReader();
    private readonly Channel<BookQueue> _unread = ForOneReader();
    private readonly SemaphoreSlim _reads;
    private readonly BookCommitter _committer;
    private readonly GroupCommitter _groups;
    private readonly LoneWriter _alone;
    private readonly NewLines _newLines;

    /// <summary>A lane that is at work until it is closed; reads bound how often books are read at once.</summary>
    public Lane(BookCommitter committer, GroupCommitter groups, LoneWriter alone, NewLines newLines,
        SemaphoreSlim reads)
    {
        (_committer, _groups, _alone, _newLines, _reads) = (committer, groups, alone, newLines, reads);
        _ = Task.Run(KeepWritingAsync);
        _ = Task.Run(KeepReadingAsync);
    }

    /// <summary>Has what waits for a book written.</summary>
    public void Put(BookQueue queue) => _ready.Writer.TryWrite(queue);

    /// <summary>Ends the lane; nothing may be put in it any more.</summary>
    public void Close()
    {
        _ready.Writer.TryComplete();
        _unread.Writer.TryComplete();
    }

    private async Task KeepWritingAsync()
    {
        var group = new List<(BookQueue Queue, ImmutableArray<Waiting> Taken)>();
        while (await _ready.Reader.WaitToReadAsync().ConfigureAwait(false))
        {
            group.Clear();
            while (group.Count < MostBooks && _ready.Reader.TryRead(out var queue))
            {
                if (queue.Page is null)
                {
                    _unread.Writer.TryWrite(queue);
                }
                else if (queue.IsShared)
                {
                    _ = WriteInTurnAsync(queue);
                }
                else if (queue.Take() is var taken && taken.Sum(w => w.Request.Entries.Length) > MostOfOne)
                {
                    _ = WriteAloneAsync(queue, taken);
                }
                else
                {
                    group.Add((queue, taken));
                }
            }

            if (group.Count > 0)
            {
                await WriteAsync(group).ConfigureAwait(false);
            }
        }
    }

    private async Task WriteAsync(List<(BookQueue Queue, ImmutableArray<Waiting> Taken)> group)
    {
        IReadOnlyList<Committed?> committed;
        try
        {
            committed = await _groups.CommitAsync([.. group.Select(g => new WaitingBook(g.Queue.Household,
                g.Queue.Page!, [.. g.Taken.Select(w => w.Request)]))]).ConfigureAwait(false);
        }
#pragma warning disable CA1031 // Whatever went wrong, each sender must get an answer and the lane must live on.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            group.ForEach(g => _alone.Fail(g.Queue, g.Taken, failure));
            group.ForEach(g => GoOn(g.Queue));
            return;
        }

        foreach (var ((queue, taken), written) in group.Zip(committed))
        {
            if (written is null)
            {
                _ = WriteAloneAsync(queue, taken);
                continue;
            }

            if (queue.Page!.Book.Line != written.Page.Book.Line)
            {
                _newLines.Wrote(queue.Household, written.Page.Book.Line);
            }

            queue.Answer(taken, written);
            GoOn(queue);
        }
    }

    // While some are read, those that come are gathered.
    private async Task KeepReadingAsync()
    {
        while (await _unread.Reader.WaitToReadAsync().ConfigureAwait(false))
        {
            await _reads.WaitAsync().ConfigureAwait(false);
            var queues = new List<BookQueue>();
            while (queues.Count < MostReadTogether && _unread.Reader.TryRead(out var queue))
            {
                queues.Add(queue);
            }

            _ = ReadAsync(queues);
        }
    }

    private async Task ReadAsync(List<BookQueue> queues)
    {
        IReadOnlyList<BookPage>? pages = null;
        try
        {
            pages = await _committer.LoadAsync([.. queues.Select(queue => queue.Household)]).ConfigureAwait(false);
        }
#pragma warning disable CA1031 // Written by itself, the one at fault fails again, and its senders are told why.
        catch
#pragma warning restore CA1031
        {
            // One that can't be read must not keep the others from being written.
        }
        finally
        {
            _reads.Release();
        }

        foreach (var (queue, i) in queues.Select((queue, i) => (queue, i)))
        {
            if (pages is null)
            {
                _ = WriteAloneAsync(queue, queue.Take());
            }
            else
            {
                queue.Page = pages[i];
                Put(queue);
            }
        }
    }

    private async Task WriteAloneAsync(BookQueue queue, ImmutableArray<Waiting> taken)
    {
        await Task.Yield();
        await _alone.WriteAsync(queue, taken).ConfigureAwait(false);
        GoOn(queue);
    }

    private async Task WriteInTurnAsync(BookQueue queue)
    {
        await Task.Yield();
        await _alone.WriteInTurnAsync(queue).ConfigureAwait(false);
        GoOn(queue);
    }

    private static Channel<BookQueue> ForOneReader() =>
        Channel.CreateUnbounded<BookQueue>(new UnboundedChannelOptions { SingleReader = true });

    private void GoOn(BookQueue queue)
    {
        if (queue.GoesOn())
        {
            Put(queue);
        }
    }
}
