using System.Collections.Concurrent;
using System.Threading.Channels;

namespace CashEvents.Api.Notices;

/// <summary>
/// Books that somebody is to look at: those that are noted when something happens in them, and those that the database
/// names, without asking every book.
/// </summary>
/// <param name="named">The households that the database names: all that may have something new where that is asked for,
/// or only those whose time has come.</param>
internal sealed class BooksToLookAt(Func<bool, CancellationToken, Task<IReadOnlyList<string>>> named)
{
    private readonly ConcurrentDictionary<string, bool> _noted = new(StringComparer.Ordinal);
    private readonly Channel<bool> _wakes = Awake();
    private volatile bool _all = true;
    private volatile bool _due;

    /// <summary>Notes one; null for any that may have something new.</summary>
    public void Note(string? household)
    {
        if (household is null)
        {
            _all = true;
        }
        else
        {
            _noted[household] = true;
        }

        _wakes.Writer.TryWrite(true);
    }

    /// <summary>Notes those whose time has come.</summary>
    public void NoteDue()
    {
        _due = true;
        _wakes.Writer.TryWrite(true);
    }

    /// <summary>What was taken could not be looked at: with the next look, the database is asked for all.</summary>
    public void FindAllNext() => _all = true;

    /// <summary>Comes back when there may be some; at once the first time.</summary>
    public ValueTask<bool> WaitAsync(CancellationToken cancellation) => _wakes.Reader.ReadAsync(cancellation);

    /// <summary>Asks the database for those that it names, if that was asked for.</summary>
    public async Task FindAsync(CancellationToken cancellation)
    {
        if (!_all && !_due)
        {
            return;
        }

        // Before it is asked: what begins meanwhile is asked for again.
        var all = _all;
        (_all, _due) = (false, false);
        try
        {
            foreach (var household in await named(all, cancellation).ConfigureAwait(false))
            {
                _noted[household] = true;
            }
        }
        catch
        {
            _all |= all;
            throw;
        }
    }

    /// <summary>Those that are noted, each taken as it comes: noted again meanwhile, it comes again.</summary>
    public IEnumerable<string> Take() => _noted.Keys.Where(household => _noted.TryRemove(household, out _));

    private static Channel<bool> Awake()
    {
        var wakes = Channel.CreateBounded<bool>(
            new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
        wakes.Writer.TryWrite(true);
        return wakes;
    }
}
