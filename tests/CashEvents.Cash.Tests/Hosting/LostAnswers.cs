using System.Net;

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>What befalls a request on its way.</summary>
public enum Mishap
{
    /// <summary>The server never gets it.</summary>
    NotSent,

    /// <summary>The server carries it out, and its answer is lost.</summary>
    AnswerLost,

    /// <summary>The server says that too much waits.</summary>
    Busy,
}

/// <summary>A connection on which the first requests meet with mishaps.</summary>
internal sealed class LostAnswers(params Mishap[] mishaps) : DelegatingHandler(new SocketsHttpHandler())
{
    private readonly Queue<Mishap> _left = new(mishaps);

    /// <summary>How often something was sent.</summary>
    public int Sent { get; private set; }

    /// <summary>What a busy server says of when to come back.</summary>
    public TimeSpan RetryAfter { get; init; } = TimeSpan.FromSeconds(7);

    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
        CancellationToken cancellationToken)
    {
        Sent++;
        if (!_left.TryDequeue(out var mishap))
        {
            return await base.SendAsync(request, cancellationToken);
        }

        if (mishap == Mishap.AnswerLost)
        {
            (await base.SendAsync(request, cancellationToken)).Dispose();
        }

        return mishap == Mishap.Busy
            ? new HttpResponseMessage(HttpStatusCode.ServiceUnavailable)
            {
                Headers = { RetryAfter = new System.Net.Http.Headers.RetryConditionHeaderValue(RetryAfter) }
            }
            : throw new HttpRequestException("The connection broke off.");
    }
}
