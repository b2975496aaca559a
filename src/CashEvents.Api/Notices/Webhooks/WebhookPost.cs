using System.Globalization;
using System.Net;
using System.Net.Mime;
using System.Text;
using System.Text.Json;
using StandardWebhooks;

namespace CashEvents.Api.Notices;

/// <summary>A message, the same each time it is sent.</summary>
/// <param name="Id">Its <c>webhook-id</c>.</param>
/// <param name="Kind">A kind of line, <c>notice</c> or <c>test</c>.</param>
/// <param name="Number">Number of the line, or of the telling.</param>
/// <param name="Body">What is sent, JSON.</param>
internal sealed record WebhookMessage(string Id, string Kind, long Number, string Body)
{
    /// <summary>A line.</summary>
    public static WebhookMessage Of(Webhook webhook, BookLine line, Book book) => new(
        FormattableString.Invariant($"{webhook.Id}_line_{line.Number}"), line.Kind, line.Number,
        Write(line.Kind, line.RecordedAt, LineAnswer.Of(line, book)));

    /// <summary>A notice, or that it is over.</summary>
    public static WebhookMessage Of(Webhook webhook, long telling, Notice notice) => new(
        FormattableString.Invariant($"{webhook.Id}_notice_{telling}"), "notice", telling,
        Write("notice", notice.Over ?? notice.Since, NoticeAnswer.Of(notice)));

    /// <summary>A message by which a receiver can be tried.</summary>
    public static WebhookMessage Test(Webhook webhook, DateTimeOffset now) => new(
        $"{webhook.Id}_test_{Guid.NewGuid().ToString("N")[..12]}", "test", 0,
        Write("test", now, new { }));

    // As the specification recommends: type, timestamp, data.
    private static string Write<T>(string type, DateTimeOffset timestamp, T data) =>
        JsonSerializer.Serialize(new { type, timestamp, data }, ApiJson.Options);
}

/// <summary>What came of sending a message once.</summary>
/// <param name="Status">The status that came back; null where none did.</param>
/// <param name="Fault">What was the matter, for people; null where the message was taken.</param>
/// <param name="NotBefore">How long the receiver asks to wait; null where it does not.</param>
internal sealed record PostOutcome(int? Status, string? Fault, TimeSpan? NotBefore = null);

/// <summary>
/// Sends messages by the Standard Webhooks specification: one POST, signed, within bounds, and no further than where it
/// was sent.
/// </summary>
internal sealed class WebhookPost(TimeProvider clock) : IDisposable
{
    private static readonly TimeSpan _longestConnect = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan _longestWait = TimeSpan.FromHours(12);

    private readonly HttpClient _http = new(new SocketsHttpHandler
    {
        AllowAutoRedirect = false,
        UseCookies = false,
        // A proxy would look the name up itself.
        UseProxy = false,
        ConnectTimeout = _longestConnect,
        ConnectCallback = HomeAddresses.ConnectAsync,
        MaxResponseHeadersLength = 16,
        // What a name leads to may change.
        PooledConnectionLifetime = TimeSpan.FromMinutes(1),
    })
    { Timeout = Timeout.InfiniteTimeSpan };

    /// <summary>How long an answer may take.</summary>
    public TimeSpan Longest { get; set; } = TimeSpan.FromSeconds(15);

    /// <summary>Sends a message once.</summary>
    public async Task<PostOutcome> SendAsync(Webhook webhook, WebhookMessage message, CancellationToken cancellation)
    {
        using var bounded = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        bounded.CancelAfter(Longest);
        try
        {
            using var request = Request(webhook, message);
            // Of what comes back only the status is read.
            using var response = await _http.SendAsync(request, HttpCompletionOption.ResponseHeadersRead,
                bounded.Token).ConfigureAwait(false);
            var status = (int)response.StatusCode;
            return status is >= 200 and < 300 ? new PostOutcome(status, null)
                : new PostOutcome(status, status is >= 300 and < 400
                    ? $"It was answered {status}, and redirects are not followed: give the address it leads to."
                    : $"It was answered {status}.", Wait(response));
        }
        catch (OperationCanceledException) when (!cancellation.IsCancellationRequested)
        {
            return new PostOutcome(null, $"No answer came within {Longest.TotalSeconds:0} seconds.");
        }
        catch (HttpRequestException failure)
        {
            return new PostOutcome(null, failure.GetBaseException().Message);
        }
        catch (IOException failure)
        {
            return new PostOutcome(null, failure.Message);
        }
    }

    public void Dispose() => _http.Dispose();

    private HttpRequestMessage Request(Webhook webhook, WebhookMessage message)
    {
        // The moment of this attempt is signed, in whole seconds.
        var now = DateTimeOffset.FromUnixTimeSeconds(clock.GetUtcNow().ToUnixTimeSeconds());
        var request = new HttpRequestMessage(HttpMethod.Post, webhook.Url)
        {
            Content = new StringContent(message.Body, Encoding.UTF8, MediaTypeNames.Application.Json),
            Version = HttpVersion.Version11,
        };
        request.Headers.UserAgent.Add(new("CashEvents", ProgramVersion.Text.Split('+')[0]));
        request.Headers.Add("webhook-id", message.Id);
        request.Headers.Add("webhook-timestamp", now.ToUnixTimeSeconds().ToString(CultureInfo.InvariantCulture));
        request.Headers.Add("webhook-signature", string.Join(' ', webhook.SecretsAt(clock.GetUtcNow())
            .Select(secret => new StandardWebhook(secret).Sign(message.Id, now, message.Body))));
        return request;
    }

    private TimeSpan? Wait(HttpResponseMessage response)
    {
        var wait = response.Headers.RetryAfter is { } after
            ? after.Delta ?? (after.Date is { } date ? date - clock.GetUtcNow() : null)
            : null;
        return wait < _longestWait ? wait : wait is null ? null : _longestWait;
    }
}
