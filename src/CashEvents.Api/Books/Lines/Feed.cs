using System.Buffers;
using System.Collections.Concurrent;
using System.IO.Pipelines;
using System.Text;
using Microsoft.AspNetCore.Server.Kestrel.Core.Features;

namespace CashEvents.Api.Books;

/// <summary>
/// Sends a book's lines for as long as somebody listens (server-sent events, WHATWG HTML standard, section 9.2).
/// </summary>
internal sealed class Feed(NewLines newLines, LineReader lines, BookReader books, NoticeBook notices, KeyRing keys,
    OutageLog outages, IHostApplicationLifetime program, TimeProvider clock) : IHostedService
{
    /// <summary>Streams that one key may keep open.</summary>
    public const int MostOfAKey = 32;

    /// <summary>Streams that are open at most.</summary>
    public const int MostOfAll = 2048;

    private readonly Dictionary<string, BookFeed> _feeds = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, int> _ofKeys = new(StringComparer.Ordinal);
    private int _open;

    /// <summary>Who takes nothing for so long is gone or stands still.</summary>
    public TimeSpan Patience { get; set; } = TimeSpan.FromSeconds(30);

    /// <summary>Streams that are open now.</summary>
    public int Streams => Volatile.Read(ref _open);

    /// <summary>Takes a place for one more stream; refuses where there is none.</summary>
    public Place? Open(Caller caller, HttpContext http, out IResult? refusal)
    {
        refusal = null;
        if (_ofKeys.AddOrUpdate(caller.Key.Hash, 1, (_, open) => open + 1) > MostOfAKey)
        {
            GiveBack(caller.Key.Hash);
            refusal = TooMany(http, StatusCodes.Status429TooManyRequests,
                $"The key '{caller.Name}' has {MostOfAKey} streams open, as many as it may have: close one first.");
            return null;
        }

        if (Interlocked.Increment(ref _open) > MostOfAll)
        {
            Interlocked.Decrement(ref _open);
            GiveBack(caller.Key.Hash);
            refusal = TooMany(http, StatusCodes.Status503ServiceUnavailable,
                $"The server has {MostOfAll} streams open, and that is all it can have: try again in a minute.");
            return null;
        }

        return new Place(this, caller.Key.Hash);
    }

    /// <summary>Sends the lines after one, until who listens goes, may not listen any more, or is too slow.</summary>
    public async Task SendAsync(HttpContext http, Caller caller, long after)
    {
        using var over = CancellationTokenSource.CreateLinkedTokenSource(http.RequestAborted,
            program.ApplicationStopping);
        var feed = await JoinAsync(caller.Household, over.Token).ConfigureAwait(false);
        try
        {
            // Who is too slow is told so here.
            if (http.Features.Get<IHttpMinResponseDataRateFeature>() is { } rate)
            {
                rate.MinDataRate = null;
            }

            // The number by itself is no event: who hears nothing else comes back with it all the same.
            var stream = new Stream(http, clock, caller.Key, feed, Patience, over.Token);
            await stream.SayAsync(FormattableString.Invariant($"retry: 1000\nid: {after}\n\n")).ConfigureAwait(false);
            if (await MayListenAsync(caller, over.Token).ConfigureAwait(false))
            {
                await SendAsync(stream, caller.Household, after).ConfigureAwait(false);
            }
        }
        catch (OperationCanceledException)
        {
            // Nobody listens any more, or the program stops: who still does asks again.
        }
        finally
        {
            Leave(caller.Household, feed);
        }
    }

    private async Task SendAsync(Stream stream, string household, long after)
    {
        while (stream.GoesOn)
        {
            if (stream.Feed.PlaceAfter(after) is { } place)
            {
                await stream.FollowAsync(place, after).ConfigureAwait(false);
                return;
            }

            // Who was away for long reads on from the book, as fast as they take it.
            var written = await lines.ReadAsync(household, new LineFilter(after, BookFeed.MostTogether),
                stream.Over).ConfigureAwait(false);
            var book = await books.ReadAsync(household, stream.Over).ConfigureAwait(false);
            if (written.Count == 0)
            {
                return;
            }

            await stream.SayAsync([.. written.Select(line => SaidEvent.Of(line, book))]).ConfigureAwait(false);
            after = written[^1].Number;
        }
    }

    // From here on the book's own lines tell of a revocation.
    private async ValueTask<bool> MayListenAsync(Caller caller, CancellationToken over) =>
        await keys.FindByHashAsync(caller.Key.Hash, over).ConfigureAwait(false) is { } holder
            && holder.Key.OverAt(clock.GetUtcNow()) is null;

    private async Task<BookFeed> JoinAsync(string household, CancellationToken cancellation)
    {
        BookFeed? feed;
        lock (_feeds)
        {
            if (!_feeds.TryGetValue(household, out feed) || feed.IsOver)
            {
                _feeds[household] = feed = new BookFeed(household, newLines, lines, books, notices, outages);
            }

            feed.Listeners++;
        }

        try
        {
            await feed.StartAsync().WaitAsync(cancellation).ConfigureAwait(false);
            return feed;
        }
        catch
        {
            Leave(household, feed);
            throw;
        }
    }

    private void Leave(string household, BookFeed feed)
    {
        lock (_feeds)
        {
            if (--feed.Listeners > 0)
            {
                return;
            }

            feed.Dispose();
            if (_feeds.GetValueOrDefault(household) == feed)
            {
                _feeds.Remove(household);
            }
        }
    }

    /// <inheritdoc />
    public Task StartAsync(CancellationToken cancellationToken)
    {
        newLines.Noticed += Notice;
        return Task.CompletedTask;
    }

    /// <inheritdoc />
    public Task StopAsync(CancellationToken cancellationToken)
    {
        newLines.Noticed -= Notice;
        return Task.CompletedTask;
    }

    private void Notice(string household, long telling)
    {
        lock (_feeds)
        {
            _feeds.GetValueOrDefault(household)?.Notice();
        }
    }

    private static IResult TooMany(HttpContext http, int status, string detail)
    {
        http.Response.Headers.RetryAfter = "60";
        return Problems.Of(status, "too-many-streams", detail);
    }

    private void GiveBack(string key)
    {
        // Nothing of a key is left when its last stream has gone.
        if (_ofKeys.AddOrUpdate(key, 0, (_, open) => open - 1) <= 0)
        {
            _ofKeys.TryRemove(KeyValuePair.Create(key, 0));
        }
    }

    /// <summary>A place among the streams, until it is given back.</summary>
    internal sealed class Place(Feed feed, string key) : IDisposable
    {
        public void Dispose()
        {
            Interlocked.Decrement(ref feed._open);
            feed.GiveBack(key);
        }
    }

    /// <summary>One who listens.</summary>
    private sealed class Stream(HttpContext http, TimeProvider clock, Key key, BookFeed feed, TimeSpan patience,
        CancellationToken over)
    {
        private readonly PipeWriter _out = http.Response.BodyWriter;

        public BookFeed Feed => feed;

        public CancellationToken Over => over;

        /// <summary>Whether they may still listen, to the same book.</summary>
        public bool GoesOn => !feed.IsOver && !feed.Revoked.Contains(key.Name) && key.OverAt(clock.GetUtcNow()) is null;

        /// <summary>Says what is said from a place on.</summary>
        public async Task FollowAsync(long place, long after)
        {
            while (true)
            {
                var next = feed.NextAsync();
                if (!GoesOn)
                {
                    return;
                }

                if (feed.From(place) is not { } said)
                {
                    await SayAsync(FormattableString.Invariant(
                        $"event: cutOff\ndata: {{\"after\":{after}}}\n\n")).ConfigureAwait(false);
                    return;
                }

                if (said.Count == 0)
                {
                    await next.WaitAsync(over).ConfigureAwait(false);
                    continue;
                }

                // Who joined with a line that was not read here yet has it already.
                place += said.Count;
                await SayAsync([.. said.Where(one => one.Number == 0 || one.Number > after)]).ConfigureAwait(false);
                after = Math.Max(after, said.Max(one => one.Number));
            }
        }

        public Task SayAsync(string said) => SayAsync([new SaidEvent(0, Encoding.UTF8.GetBytes(said))]);

        public async Task SayAsync(IReadOnlyList<SaidEvent> said)
        {
            foreach (var one in said)
            {
                _out.Write(one.Said);
            }

            if (said.Count > 0)
            {
                await FlushAsync().ConfigureAwait(false);
            }
        }

        private async Task FlushAsync()
        {
            var flushed = _out.FlushAsync(over);
            if (flushed.IsCompletedSuccessfully)
            {
                return;
            }

            try
            {
                await flushed.AsTask().WaitAsync(patience, over).ConfigureAwait(false);
            }
            catch (TimeoutException)
            {
                http.Abort();
                throw new OperationCanceledException("Who listens takes nothing.");
            }
        }
    }
}
