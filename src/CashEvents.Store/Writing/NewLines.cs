using System.Collections.Concurrent;
using System.Threading.Channels;

namespace CashEvents.Store.Writing;

/// <summary>
/// Tells those who wait for a book's next lines that there are some, whichever server on the database wrote them.
/// </summary>
public sealed class NewLines
{
    private readonly ConcurrentDictionary<string, TaskCompletionSource<long>> _waiting = new(StringComparer.Ordinal);

    // Of each book the last line only: what others are told costs the same however much is written.
    private readonly ConcurrentDictionary<string, long> _unsaid = new(StringComparer.Ordinal);
    private readonly Channel<bool> _isUnsaid = Channel.CreateBounded<bool>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });

    /// <summary>
    /// Tells of every book with new lines, by its household; of null when any book may have some, as after a time in
    /// which nothing could be heard. It comes from within the writer: whoever hears it only makes a note.
    /// </summary>
    public event Action<string?>? Written;

    /// <summary>
    /// Tells of every household that was given notice, with the number of the last telling. Whoever hears it only makes
    /// a note.
    /// </summary>
    public event Action<string, long>? Noticed;

    /// <summary>
    /// Done when lines are written in a book from now on, with the number of the last where that is known, or 0.
    /// Whoever has this first and reads then misses none.
    /// </summary>
    public Task<long> NextAsync(string household) => _waiting.GetOrAdd(household,
        _ => new TaskCompletionSource<long>(TaskCreationOptions.RunContinuationsAsynchronously)).Task;

    /// <summary>This server wrote lines in a book; the other servers are told in a moment.</summary>
    internal void Wrote(string household, long line)
    {
        Tell(household, line);
        _unsaid.AddOrUpdate(household, line, (_, unsaid) => Math.Max(unsaid, line));
        _isUnsaid.Writer.TryWrite(true);
    }

    /// <summary>Lines were written in a book.</summary>
    internal void Tell(string household, long line)
    {
        if (_waiting.TryRemove(household, out var waiting))
        {
            waiting.SetResult(line);
        }

        Written?.Invoke(household);
    }

    /// <summary>A household was given notice.</summary>
    internal void TellNoticed(string household, long telling) => Noticed?.Invoke(household, telling);

    /// <summary>Something else than a line says that a book is to be looked at.</summary>
    internal void LookAgain(string household) => Written?.Invoke(household);

    /// <summary>Lines may have been written in any book: whoever waits looks.</summary>
    internal void TellAll()
    {
        foreach (var household in _waiting.Keys)
        {
            if (_waiting.TryRemove(household, out var waiting))
            {
                waiting.SetResult(0);
            }
        }

        Written?.Invoke(null);
    }

    /// <summary>Comes back when the other servers have something to be told.</summary>
    internal async ValueTask UnsaidAsync(CancellationToken cancellation) =>
        await _isUnsaid.Reader.ReadAsync(cancellation).ConfigureAwait(false);

    /// <summary>Takes what the other servers have to be told: households, each with its last line.</summary>
    internal IReadOnlyList<KeyValuePair<string, long>> TakeUnsaid()
    {
        var taken = new List<KeyValuePair<string, long>>();
        foreach (var household in _unsaid.Keys)
        {
            if (_unsaid.TryRemove(household, out var line))
            {
                taken.Add(KeyValuePair.Create(household, line));
            }
        }

        return taken;
    }

    /// <summary>What was taken could not be told: it is to be told later.</summary>
    internal void PutBack(IEnumerable<KeyValuePair<string, long>> unsaid)
    {
        foreach (var (household, line) in unsaid)
        {
            _unsaid.AddOrUpdate(household, line, (_, other) => Math.Max(other, line));
        }

        _isUnsaid.Writer.TryWrite(true);
    }
}
