using System.Collections.Concurrent;
using Microsoft.Extensions.Logging;

namespace CashEvents.EmbeddedPostgres.Tests;

/// <summary>Keeps what is logged as warnings and errors.</summary>
internal sealed class KeptMessages : ILogger
{
    private readonly ConcurrentQueue<string> _messages = new();

    public IReadOnlyCollection<string> All => _messages;

    public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

    public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter)
    {
        if (IsEnabled(logLevel))
            _messages.Enqueue(formatter(state, exception));
    }
}
