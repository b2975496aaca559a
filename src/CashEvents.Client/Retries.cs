using System.Net;
using Polly;
using Polly.Retry;
using Polly.Timeout;

namespace CashEvents.Client;

/// <summary>
/// Sends again what got no answer, 429 or 503, as it was sent before. A server that says when to come back is believed.
/// </summary>
internal sealed class Retries : DelegatingHandler
{
    // It has no idempotency key: sent twice, the second is told that the name is taken.
    private const string Households = "/api/households";

    private readonly ResiliencePipeline<HttpResponseMessage> _again;
    private readonly ResiliencePipeline<HttpResponseMessage> _once;

    public Retries(CashEventsClientOptions options, HttpMessageHandler inner) : base(inner)
    {
        _once = new ResiliencePipelineBuilder<HttpResponseMessage> { TimeProvider = options.Clock }
            .AddTimeout(options.AnswerWithin).Build();
        _again = options.Retries < 1 ? _once
            : new ResiliencePipelineBuilder<HttpResponseMessage> { TimeProvider = options.Clock }
                .AddRetry(Patience(options)).AddPipeline(_once).Build();
    }

    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
        CancellationToken cancellationToken)
    {
        if (request.Content is { } content)
        {
            await content.LoadIntoBufferAsync(cancellationToken).ConfigureAwait(false);
        }

        var opensABook = request.Method == HttpMethod.Post && request.RequestUri!.AbsolutePath == Households;
        try
        {
            return await (opensABook ? _once : _again)
                .ExecuteAsync(async stop => await base.SendAsync(request, stop).ConfigureAwait(false),
                    cancellationToken).ConfigureAwait(false);
        }
        catch (TimeoutRejectedException late)
        {
            throw new HttpRequestException(
                HttpRequestError.ConnectionError, "The server did not answer in time.", late);
        }
    }

    private static RetryStrategyOptions<HttpResponseMessage> Patience(CashEventsClientOptions options) => new()
    {
        MaxRetryAttempts = options.Retries,
        BackoffType = DelayBackoffType.Exponential,
        Delay = TimeSpan.FromMilliseconds(300),
        MaxDelay = options.LongestPause,
        UseJitter = true,
        ShouldHandle = attempt => ValueTask.FromResult(
            attempt.Outcome.Exception is HttpRequestException or IOException or TimeoutRejectedException
            || (attempt.Outcome.Result is { } answer
                && answer.StatusCode is HttpStatusCode.TooManyRequests or HttpStatusCode.ServiceUnavailable
                && (AskedPause(answer, options.Clock) ?? TimeSpan.Zero) <= options.LongestPause)),
        DelayGenerator = attempt => ValueTask.FromResult(
            attempt.Outcome.Result is { } answer ? AskedPause(answer, options.Clock) : null),
    };

    private static TimeSpan? AskedPause(HttpResponseMessage answer, TimeProvider clock) =>
        answer.Headers.RetryAfter is not { } asked ? null
        : asked.Delta ?? (asked.Date - clock.GetUtcNow() is { } pause && pause > TimeSpan.Zero ? pause : TimeSpan.Zero);
}
