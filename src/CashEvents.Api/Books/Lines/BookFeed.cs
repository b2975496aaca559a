using System.Collections.Immutable;
using System.Text;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Api.Books;

/// <summary>A line as the feed says it: its number, its kind and what <c>/lines/{n}</c> says of it.</summary>
/// <param name="Number">Its number, which is the event's id; 0 for what is no line.</param>
/// <param name="Said">The event, in UTF-8.</param>
internal readonly record struct SaidEvent(long Number, byte[] Said)
{
    public static SaidEvent Of(BookLine line, Book book)
    {
        var said = JsonSerializer.Serialize(LineAnswer.Of(line, book), ApiJson.Options);
        return new(line.Number, Encoding.UTF8.GetBytes(
            FormattableString.Invariant($"id: {line.Number}\nevent: {line.Kind}\ndata: {said}\n\n")));
    }
}

/// <summary>
/// The end of one book, read once for all who listen to it. Nobody has a queue of their own: each asks for what comes
/// after the line that they have, so that who is slow costs nothing and slows nobody.
/// </summary>
internal sealed class BookFeed(string household, NewLines newLines, LineReader lines, BookReader books,
    NoticeBook notices, OutageLog outages) : IDisposable
{
    /// <summary>Lines that are kept for those who listen; who is further behind is cut off.</summary>
    public const int MostKept = 1024;

    /// <summary>Lines that are read or sent together.</summary>
    public const int MostTogether = 100;

    private const int MostBytes = 1 << 20;

    // A line by itself is told at once; lines that come thick and fast are told together, the more so the more listen.
    private static readonly TimeSpan _together = TimeSpan.FromMilliseconds(25);
    private static readonly TimeSpan _ofEach = TimeSpan.FromMicroseconds(100);

    // Those between give up on who is silent.
    private static readonly TimeSpan _heartbeat = TimeSpan.FromSeconds(15);
    private static readonly byte[] _silence = ":\n\n"u8.ToArray();

    private static readonly TimeSpan _again = TimeSpan.FromSeconds(1);

    private readonly Lock _lock = new();
    private readonly Queue<SaidEvent> _kept = new();
    private readonly CancellationTokenSource _nobody = new();
    private TaskCompletionSource _noticed = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private TaskCompletionSource _next = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private ImmutableHashSet<string> _revoked = [];
    private Task? _starts;
    private long _firstPlace;
    private long _keptBytes;
    private long _last;
    private long _lastTelling;

    /// <summary>How many listen; changed by whoever keeps the feeds, under its lock.</summary>
    public int Listeners { get; set; }

    /// <summary>The book is not any more the one that was read: whoever listens has to ask anew.</summary>
    public bool IsOver { get; private set; }

    /// <summary>Names of keys that were revoked while somebody listened.</summary>
    public ImmutableHashSet<string> Revoked => Volatile.Read(ref _revoked);

    /// <summary>Done when it reads, from behind the book's last line.</summary>
    public Task StartAsync()
    {
        lock (_lock)
        {
            return _starts is null or { IsFaulted: true } or { IsCanceled: true } ? _starts = BeginAsync() : _starts;
        }
    }

    /// <summary>Reads no more.</summary>
    public void Dispose()
    {
        _nobody.Cancel();
        _nobody.Dispose();
    }

    /// <summary>Done when there is more to ask for; whoever has this first and asks then misses nothing.</summary>
    public Task NextAsync()
    {
        lock (_lock)
        {
            return _next.Task;
        }
    }

    /// <summary>
    /// The place from which whoever has a line goes on here; null when the lines after it are not all kept.
    /// </summary>
    public long? PlaceAfter(long line)
    {
        lock (_lock)
        {
            var end = _firstPlace + _kept.Count;
            if (line >= _last)
            {
                return end;
            }

            var place = _firstPlace;
            foreach (var kept in _kept)
            {
                if (kept.Number == line + 1)
                {
                    return place;
                }

                place++;
            }

            return null;
        }
    }

    /// <summary>What is said from a place on, as much as is sent together; null when it is not kept any more.</summary>
    public IReadOnlyList<SaidEvent>? From(long place)
    {
        lock (_lock)
        {
            return place < _firstPlace ? null : [.. _kept.Skip((int)(place - _firstPlace)).Take(MostTogether)];
        }
    }

    /// <summary>The household was given notice.</summary>
    public void Notice() => Volatile.Read(ref _noticed).TrySetResult();

    private async Task BeginAsync()
    {
        await Task.Yield();
        _lastTelling = await notices.LastTellingAsync(household, _nobody.Token).ConfigureAwait(false);
        _last = (await books.ReadAsync(household, _nobody.Token).ConfigureAwait(false)).Line;
        _ = Task.Run(KeepReadingAsync, CancellationToken.None);
    }

    private async Task KeepReadingAsync()
    {
        while (!_nobody.IsCancellationRequested && !IsOver)
        {
            try
            {
                var (next, noticed) = (newLines.NextAsync(household), _noticed.Task);
                if (noticed.IsCompleted)
                {
                    Volatile.Write(ref _noticed,
                        new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously));
                    await ReadNoticesAsync().ConfigureAwait(false);
                    continue;
                }

                if (!await ReadAsync().ConfigureAwait(false))
                {
                    await HearAsync(next, noticed).ConfigureAwait(false);
                    if (next.IsCompleted && await next.ConfigureAwait(false) is > 0 and var told && told < _last)
                    {
                        await LookWhetherItIsTheSameAsync().ConfigureAwait(false);
                    }

                    continue;
                }

                await Task.Delay(_together + (Listeners * _ofEach), _nobody.Token).ConfigureAwait(false);
            }
            catch (OperationCanceledException) when (_nobody.IsCancellationRequested)
            {
                return;
            }
            catch (ObjectDisposedException)
            {
                return;
            }
            catch (Exception failure) when (failure is NpgsqlException or TimeoutException
                or OperationCanceledException or IOException)
            {
                outages.Tell(failure);
                await Task.Delay(_again).ConfigureAwait(false);
            }
        }
    }

    private async Task<bool> ReadAsync()
    {
        var written = await lines.ReadAsync(household, new LineFilter(_last, MostTogether), _nobody.Token)
            .ConfigureAwait(false);
        if (written.Count == 0)
        {
            return false;
        }

        var book = await books.ReadAsync(household, _nobody.Token).ConfigureAwait(false);
        Keep([.. written.Select(line => SaidEvent.Of(line, book))],
            [.. written.Select(line => line.Event).OfType<KeyRevoked>().Select(key => key.Name)]);
        return true;
    }

    // One clock for all who listen: each by itself would cost more than what is said.
    private async Task HearAsync(Task next, Task noticed)
    {
        var heard = Task.WhenAny(next, noticed);
        while (true)
        {
            try
            {
                await heard.WaitAsync(_heartbeat, _nobody.Token).ConfigureAwait(false);
                return;
            }
            catch (TimeoutException)
            {
                lock (_lock)
                {
                    Keep(new SaidEvent(0, _silence));
                    Tell();
                }
            }
        }
    }

    // A notice has no id: it must not stand between the numbers of lines.
    private async Task ReadNoticesAsync()
    {
        var told = await notices.TellingsAfterAsync(household, _lastTelling, MostTogether, _nobody.Token)
            .ConfigureAwait(false);
        lock (_lock)
        {
            foreach (var (telling, notice) in told)
            {
                Keep(new SaidEvent(0, Encoding.UTF8.GetBytes(
                    $"event: notice\ndata: {JsonSerializer.Serialize(NoticeAnswer.Of(notice), ApiJson.Options)}\n\n")));
                _lastTelling = telling;
            }

            Tell();
        }
    }

    private void Keep(IReadOnlyList<SaidEvent> said, IReadOnlyList<string> revoked)
    {
        lock (_lock)
        {
            foreach (var one in said)
            {
                Keep(one);
            }

            _last = said[^1].Number;
            _revoked = _revoked.Union(revoked);
            Tell();
        }
    }

    private void Keep(SaidEvent one)
    {
        _kept.Enqueue(one);
        _keptBytes += one.Said.Length;
        while (_kept.Count > MostKept || (_keptBytes > MostBytes && _kept.Count > MostTogether))
        {
            _keptBytes -= _kept.Dequeue().Said.Length;
            _firstPlace++;
        }
    }

    // A number from before may only come late; or the database was restored behind the program's back.
    private async Task LookWhetherItIsTheSameAsync()
    {
        if ((await books.ReadAsync(household, _nobody.Token).ConfigureAwait(false)).Line < _last)
        {
            lock (_lock)
            {
                IsOver = true;
                Tell();
            }
        }
    }

    private void Tell()
    {
        var told = _next;
        _next = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        told.SetResult();
    }
}
