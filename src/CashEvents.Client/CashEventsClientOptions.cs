namespace CashEvents.Client;

/// <summary>How patient a client is.</summary>
public sealed class CashEventsClientOptions
{
    /// <summary>How often a request is sent again that got no answer, 429 or 503; 3 if not set, 0 for never.</summary>
    public int Retries { get; init; } = 3;

    /// <summary>
    /// How long one answer is waited for before the request counts as lost; 30 seconds if not set.
    /// </summary>
    public TimeSpan AnswerWithin { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>How long a connection may take to be made; 5 seconds if not set.</summary>
    public TimeSpan ConnectWithin { get; init; } = TimeSpan.FromSeconds(5);

    /// <summary>
    /// The longest pause before a request is sent again; 30 seconds if not set. A server that asks for a longer one
    /// (<c>Retry-After</c>) is not asked again.
    /// </summary>
    public TimeSpan LongestPause { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>What the requests go through at last, for tests and proxies; a socket if not set.</summary>
    public HttpMessageHandler? Inner { get; init; }

    /// <summary>The clock that the pauses go by.</summary>
    public TimeProvider Clock { get; init; } = TimeProvider.System;
}
