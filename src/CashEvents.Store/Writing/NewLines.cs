using System.Collections.Concurrent;

namespace CashEvents.Store.Writing;

/// <summary>Tells those who wait for a book's next lines that this server has written some.</summary>
public sealed class NewLines
{
    private readonly ConcurrentDictionary<string, TaskCompletionSource> _waiting = new(StringComparer.Ordinal);

    /// <summary>
    /// Done when lines are written in a book from now on. Whoever has this first and reads then misses none.
    /// </summary>
    public Task NextAsync(string household) => _waiting.GetOrAdd(household,
        _ => new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously)).Task;

    /// <summary>Tells that lines were written in a book.</summary>
    internal void Tell(string household)
    {
        if (_waiting.TryRemove(household, out var waiting))
        {
            waiting.SetResult();
        }
    }
}
