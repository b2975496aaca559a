using System.Collections.Concurrent;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>A message as it was received.</summary>
internal sealed record Received(string Id, string Body, HttpRequest Request)
{
    /// <summary>Its number: that of the line.</summary>
    public long Number => long.Parse(Id.Split('_')[^1]);

    /// <summary>The signatures that it came with.</summary>
    public string[] Signatures => Request.Headers["webhook-signature"].ToString().Split(' ');
}

/// <summary>A receiver of webhooks, another server on the same machine.</summary>
internal sealed class Receiver : IAsyncDisposable
{
    private readonly WebApplication _application;
    private readonly ConcurrentQueue<Received> _received = new();

    private Receiver(WebApplication application) => _application = application;

    /// <summary>What it answers to a message that came as the so-manieth.</summary>
    public Func<int, HttpContext, Task> Answers { get; set; } = (_, http) =>
    {
        http.Response.StatusCode = 204;
        return Task.CompletedTask;
    };

    public string Address => _application.Urls.Single();

    public IReadOnlyList<Received> All => [.. _received];

    public static async Task<Receiver> StartAsync(string address = "http://127.0.0.1:0")
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        var application = builder.Build();
        application.Urls.Add(address);
        var receiver = new Receiver(application);
        application.Run(receiver.ReceiveAsync);
        await application.StartAsync();
        return receiver;
    }

    /// <summary>Comes back when so many messages have come.</summary>
    public async Task<IReadOnlyList<Received>> UntilAsync(int messages)
    {
        while (_received.Count < messages)
        {
            await Task.Delay(10, TestContext.Current.CancellationToken);
        }

        return All;
    }

    private async Task ReceiveAsync(HttpContext http)
    {
        using var reader = new StreamReader(http.Request.Body);
        var body = await reader.ReadToEndAsync();
        var headers = new HeaderDictionary(http.Request.Headers.ToDictionary(h => h.Key, h => h.Value,
            StringComparer.OrdinalIgnoreCase));
        var context = new DefaultHttpContext();
        foreach (var (name, value) in headers)
        {
            context.Request.Headers[name] = value;
        }

        context.Request.Path = http.Request.Path;
        _received.Enqueue(new Received(headers["webhook-id"].ToString(), body, context.Request));
        await Answers(_received.Count, http);
    }

    public async ValueTask DisposeAsync() => await _application.DisposeAsync();
}
