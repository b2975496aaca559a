using System.Collections.Concurrent;
using Microsoft.Extensions.Logging;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Keeps what is logged as errors.</summary>
internal sealed class KeptLog : ILoggerProvider, ILogger
{
    private readonly ConcurrentQueue<Exception?> _errors = new();

    private readonly ConcurrentQueue<string> _messages = new();

    public IReadOnlyCollection<Exception?> Errors => _errors;

    /// <summary>The same with their words, as a console shows them.</summary>
    public IReadOnlyCollection<string> Messages => _messages;

    public ILogger CreateLogger(string categoryName) => this;

    public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

    public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Error;

    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter)
    {
        if (IsEnabled(logLevel))
        {
            _errors.Enqueue(exception);
            _messages.Enqueue(formatter(state, exception) + exception);
        }
    }

    public void Dispose()
    {
    }
}
