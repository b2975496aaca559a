using System.Collections.Concurrent;
using System.Net;
using Npgsql;

namespace CashEvents.Api.Notices;

/// <summary>
/// Sends what webhooks want: each in the order of the lines, one message after another, again and again until it is
/// taken or three days are over. How far each has come stands in the database.
/// </summary>
internal sealed class WebhookSender(WebhookBook webhooks, NewLines newLines, BookReader books, LineReader lines,
    NoticeBook notices, Alarms alarms, WebhookPost post, ServerMeasures measures, Upgrading upgrading,
    TimeProvider clock, OutageLog outages, ILogger<WebhookSender> logger) : BackgroundService
{
    /// <summary>How long a message is tried.</summary>
    public static readonly TimeSpan TriedFor = TimeSpan.FromDays(3);

    private const int MostAtOnce = 16;
    private const int ReadTogether = 100;
    private static readonly TimeSpan _looksEvery = TimeSpan.FromMinutes(1);

    // Books in which lines are written all the time are looked up together.
    private static readonly TimeSpan _together = TimeSpan.FromMilliseconds(20);

    // The last goes on.
    private static readonly TimeSpan[] _pauses =
    [
        TimeSpan.FromSeconds(5), TimeSpan.FromSeconds(30), TimeSpan.FromMinutes(2), TimeSpan.FromMinutes(10),
        TimeSpan.FromMinutes(30), TimeSpan.FromHours(1), TimeSpan.FromHours(2), TimeSpan.FromHours(4),
    ];

    private readonly BooksToLookAt _books = new((all, cancellation) =>
        webhooks.HouseholdsAsync(all ? null : clock.GetUtcNow(), cancellation));
    private readonly ConcurrentDictionary<(string Household, string Id), bool> _inHand = new();
    private readonly SemaphoreSlim _places = new(MostAtOnce);

    /// <summary>Sends a message out of its turn, once, and notes what came of it.</summary>
    public async Task<Delivery> SendOnceAsync(string household, Webhook webhook, WebhookMessage message,
        CancellationToken cancellation)
    {
        var outcome = await post.SendAsync(webhook, message, cancellation).ConfigureAwait(false);
        var sent = Sent(message, outcome);
        await webhooks.NoteAsync(household, webhook.Id, sent, cancellation).ConfigureAwait(false);
        return sent;
    }

    public override void Dispose()
    {
        _places.Dispose();
        base.Dispose();
    }

    /// <inheritdoc />
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        newLines.Written += _books.Note;
        newLines.Noticed += Note;
        try
        {
            await using var looks = clock.CreateTimer(_ => _books.NoteDue(), null, _looksEvery, _looksEvery);
            while (true)
            {
                await _books.WaitAsync(stoppingToken).ConfigureAwait(false);
                await TryAsync(() => LookAsync(stoppingToken), stoppingToken).ConfigureAwait(false);
                await Task.Delay(_together, stoppingToken).ConfigureAwait(false);
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The program stops, or could not start.
        }
        finally
        {
            newLines.Written -= _books.Note;
            newLines.Noticed -= Note;
        }
    }

    private void Note(string household, long telling) => _books.Note(household);

    private async Task LookAsync(CancellationToken stopping)
    {
        await _books.FindAsync(stopping).ConfigureAwait(false);
        string[] noted = [.. _books.Take().Where(h => !upgrading.LeftOut.Contains(h))];
        if (noted.Length == 0)
        {
            return;
        }

        try
        {
            foreach (var (household, id) in await webhooks.ActiveAsync(noted, stopping).ConfigureAwait(false))
            {
                TakeInHand(household, id, stopping);
            }
        }
        catch
        {
            _books.FindAllNext();
            throw;
        }
    }

    // One that is in hand already looks once more before it is let go.
    private void TakeInHand(string household, string id, CancellationToken stopping)
    {
        if (!_inHand.TryAdd((household, id), true))
        {
            _inHand[(household, id)] = true;
            return;
        }

        _ = Task.Run(async () =>
        {
            do
            {
                _inHand[(household, id)] = false;
                await TryAsync(() => SendAllAsync(household, id, stopping), stopping).ConfigureAwait(false);
            }
            while (!_inHand.TryRemove(KeyValuePair.Create((household, id), false))
                && !stopping.IsCancellationRequested);
        }, CancellationToken.None);
    }

    private async Task SendAllAsync(string household, string id, CancellationToken stopping)
    {
        await _places.WaitAsync(stopping).ConfigureAwait(false);
        try
        {
            while (true)
            {
                var now = clock.GetUtcNow();
                if (await webhooks.InTurnAsync(household, id, now,
                    webhook => SendNextAsync(household, webhook, now, stopping), stopping)
                    .ConfigureAwait(false) is not { } after)
                {
                    return;
                }

                if (after.State == WebhookState.Parked)
                {
                    await alarms.RaiseAsync(household, new Alarm(NoticeKind.WebhookParked, id,
                        $"What was sent to {new Uri(after.Url).Host} was not taken. Nothing is lost: set the webhook "
                            + "anew when its receiver is back, and it goes on from where it was."), stopping)
                        .ConfigureAwait(false);
                    return;
                }

                if (after.RetryAt is { } at)
                {
                    WakeAt(household, at - now);
                    return;
                }
            }
        }
        finally
        {
            _places.Release();
        }
    }

    // The database tells when, too: this is only sooner than the next look there.
    private void WakeAt(string household, TimeSpan pause)
    {
        ITimer? timer = null;
        timer = clock.CreateTimer(_ =>
        {
            _books.Note(household);
            timer?.Dispose();
        }, null, pause, Timeout.InfiniteTimeSpan);
    }

    private async Task<(Webhook After, Delivery? Sent)?> SendNextAsync(string household, Webhook webhook,
        DateTimeOffset now, CancellationToken stopping)
    {
        var (passed, next) = await NextAsync(household, webhook, stopping).ConfigureAwait(false);
        if (next is null)
        {
            return passed == webhook ? null : (passed, null);
        }

        var outcome = await post.SendAsync(webhook, next, stopping).ConfigureAwait(false);
        return (After(passed, next, outcome, now), Sent(next, outcome));
    }

    // Lines first, in order; then notices. What is not wanted is passed over.
    private async Task<(Webhook Passed, WebhookMessage? Next)> NextAsync(string household, Webhook webhook,
        CancellationToken stopping)
    {
        var written = await lines.ReadAsync(household, new LineFilter(webhook.Line, ReadTogether), stopping)
            .ConfigureAwait(false);
        if (written.FirstOrDefault(webhook.Wants) is { } line)
        {
            var book = await books.ReadAsync(household, stopping).ConfigureAwait(false);
            return (webhook with { Line = line.Number - 1 }, WebhookMessage.Of(webhook, line, book));
        }

        var passed = written.Count > 0 ? webhook with { Line = written[^1].Number } : webhook;
        if (!webhook.WantsNotices || written.Count == ReadTogether)
        {
            return (passed, null);
        }

        var told = await notices.TellingsAfterAsync(household, webhook.Telling, ReadTogether, stopping)
            .ConfigureAwait(false);
        foreach (var (telling, notice) in told.Where(one => webhook.Wants(one.Notice)))
        {
            return (passed with { Telling = telling - 1 }, WebhookMessage.Of(webhook, telling, notice));
        }

        return (told.Count > 0 ? passed with { Telling = told[^1].Telling } : passed, null);
    }

    private static Webhook After(Webhook webhook, WebhookMessage sent, PostOutcome outcome, DateTimeOffset now)
    {
        if (outcome.Fault is null)
        {
            return (sent.Kind == "notice"
                ? webhook with { Telling = sent.Number }
                : webhook with { Line = sent.Number })
                with
            { Failures = 0, FailingSince = null, RetryAt = null };
        }

        var since = webhook.FailingSince ?? now;
        var pause = _pauses[Math.Min(webhook.Failures, _pauses.Length - 1)];
        // Gone is said for good (Standard Webhooks, "Operational considerations").
        return webhook with
        {
            Failures = webhook.Failures + 1,
            FailingSince = since,
            RetryAt = now + (outcome.NotBefore > pause ? outcome.NotBefore.Value : pause),
            State = outcome.Status == (int)HttpStatusCode.Gone || now - since >= TriedFor ? WebhookState.Parked
                : WebhookState.Active,
        };
    }

    private Delivery Sent(WebhookMessage message, PostOutcome outcome)
    {
        measures.Delivered("webhook", outcome.Fault is null ? "delivered" : "failed");
        return new(message.Id, message.Kind, message.Number, 1, clock.GetUtcNow(), outcome.Status, outcome.Fault);
    }

    private async Task TryAsync(Func<Task> work, CancellationToken cancellation)
    {
        try
        {
            await work().ConfigureAwait(false);
        }
        catch (Exception gone) when (gone is ObjectDisposedException or OperationCanceledException)
        {
            // The program stops, or could not start: what was not taken is sent at the next start.
        }
        catch (Exception failure) when (failure is NpgsqlException or TimeoutException)
        {
            outages.Tell(failure);
        }
#pragma warning disable CA1031 // Whatever went wrong with one webhook, the others go on.
        catch (Exception failure) when (!cancellation.IsCancellationRequested)
#pragma warning restore CA1031
        {
            logger.LogError(failure, "A webhook could not be looked after; with the next line it is again.");
        }
    }
}
