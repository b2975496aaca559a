using System.Collections.Concurrent;
using Microsoft.Extensions.Logging;

namespace CashEvents.Api.Tests.Serving;

/// <summary>Keeps the exceptions that are logged as errors.</summary>
internal sealed class KeptLog : ILoggerProvider, ILogger
{
    private readonly ConcurrentQueue<Exception?> _errors = new();

    public IReadOnlyCollection<Exception?> Errors => _errors;

    public ILogger CreateLogger(string categoryName) => this;

    public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

    public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Error;

    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
    {
        if (IsEnabled(logLevel))
        {
            _errors.Enqueue(exception);
        }
    }

    public void Dispose()
    {
    }
}
