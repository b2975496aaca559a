using System.Diagnostics.Metrics;
using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>
/// What is measured of the server as a whole, as OpenTelemetry has it. Labels have few values, and none is a name of a
/// household's.
/// </summary>
internal sealed class ServerMeasures : IDisposable
{
    private static readonly TimeSpan _freshFor = TimeSpan.FromSeconds(15);

    private readonly UpDownCounter<long> _streams;
    private readonly Counter<long> _deliveries;
    private readonly NpgsqlDataSource _database;
    private readonly BackupSettings? _backup;
    private readonly TimeProvider _clock;
    private readonly SemaphoreSlim _asks = new(1);
    private volatile Sample? _sample;

    public ServerMeasures(Meter meter, BookWriter writer, NpgsqlDataSource database, TimeProvider clock,
        BackupSettings? backup = null)
    {
        (_database, _clock, _backup) = (database, clock, backup);
        _streams = meter.CreateUpDownCounter<long>("cashevents.feed.streams", "{stream}", "Open streams of the feed.");
        _deliveries = meter.CreateCounter<long>("cashevents.deliveries", "{delivery}",
            "What was delivered to others, by the way it went and what became of it.");
        meter.CreateObservableGauge("cashevents.queue.requests", () => writer.Waiting, "{request}",
            "Requests that wait to be written.");
        meter.CreateObservableGauge("cashevents.queue.books", () => writer.InMemory, "{book}",
            "Books that are in memory to be written in.");
        meter.CreateObservableGauge("cashevents.database.size", () => Sampled(facts => facts.Bytes), "By",
            "The database on disk.");
        meter.CreateObservableGauge("cashevents.projections.behind", () => Sampled(facts => facts.LinesBehind),
            "{line}", "Lines that what is read from does not have yet.");
        meter.CreateObservableGauge("cashevents.database.up", Up, "1", "1 while PostgreSQL answers.");
        meter.CreateObservableGauge("cashevents.backup.age", BackupAge, "s", "Since the last backup was made.");
    }

    /// <summary>A stream of the feed is open until the answer is let go.</summary>
    public IDisposable StreamOpens()
    {
        _streams.Add(1);
        return new Open(_streams);
    }

    /// <summary>Something was delivered, or was not.</summary>
    /// <param name="channel">The way it went, such as <c>webhook</c> or <c>mqtt</c>: one of a few words.</param>
    /// <param name="outcome">What became of it, such as <c>delivered</c> or <c>failed</c>: one of a few words.</param>
    public void Delivered(string channel, string outcome) =>
        _deliveries.Add(1, new KeyValuePair<string, object?>("channel", channel),
            new KeyValuePair<string, object?>("outcome", outcome));

    /// <summary>Asks the database how it is, unless that was asked just now.</summary>
    public async Task RefreshAsync(CancellationToken cancellation = default)
    {
        await _asks.WaitAsync(cancellation).ConfigureAwait(false);
        try
        {
            if (IsFresh)
            {
                return;
            }

            StoreFacts? facts = null;
            try
            {
                facts = await StoreFacts.ReadAsync(_database, cancellation).ConfigureAwait(false);
            }
            catch (Exception failure) when (failure is NpgsqlException or TimeoutException)
            {
                // That is what is told.
            }

            _sample = new Sample(facts, _clock.GetTimestamp());
        }
        finally
        {
            _asks.Release();
        }
    }

    public void Dispose() => _asks.Dispose();

    private bool IsFresh => _sample is { } sample && _clock.GetElapsedTime(sample.At) < _freshFor;

    private IEnumerable<Measurement<long>> Sampled(Func<StoreFacts, long> of) =>
        _sample?.Facts is { } facts ? [new(of(facts))] : [];

    // Whoever collects otherwise than by asking for the measures hears of the database a little later.
    private IEnumerable<Measurement<int>> Up()
    {
        if (!IsFresh)
        {
            _ = RefreshAsync();
        }

        return _sample is { } sample ? [new(sample.Facts is null ? 0 : 1)] : [];
    }

    private IEnumerable<Measurement<double>> BackupAge() => _backup?.MadeAt is { } made
        ? [new((_clock.GetUtcNow() - made).TotalSeconds)] : [];

    private sealed record Sample(StoreFacts? Facts, long At);

    private sealed class Open(UpDownCounter<long> streams) : IDisposable
    {
        public void Dispose() => streams.Add(-1);
    }
}

/// <summary>Counts the open streams of the feed.</summary>
internal sealed class FeedStreams(RequestDelegate next, ServerMeasures measures)
{
    private const string Feed = "/api/feed";

    public async Task InvokeAsync(HttpContext context)
    {
        if (!context.Request.Path.Equals(Feed, StringComparison.OrdinalIgnoreCase))
        {
            await next(context).ConfigureAwait(false);
            return;
        }

        using var open = measures.StreamOpens();
        await next(context).ConfigureAwait(false);
    }
}
