using System.Net;

namespace CashEvents.Cash.Tests.Hosting;

/// <summary>
/// Stands between a program and the server, at an address of its own. It can be away, and it can keep an answer back
/// after the server has carried the request out.
/// </summary>
internal sealed class Relay : IDisposable
{
    private readonly HttpListener _listener = new();
    private readonly HttpClient _server = new();
    private readonly Uri _to;
    private int _writes;

    public Relay(Uri to)
    {
        _to = to;
        Address = new Uri($"http://127.0.0.1:{FreePort()}/");
        _listener.Prefixes.Add($"{Address}");
        _listener.Start();
        _ = AnswerAsync();
    }

    public Uri Address { get; }

    /// <summary>What it says itself, whatever is asked; null to ask the server.</summary>
    public string? Says { get; set; }

    /// <summary>The status with which it says so.</summary>
    public int Status { get; set; } = 200;

    /// <summary>Which write's answer is kept back, counted from 1; none for 0.</summary>
    public int KeepsBack { get; set; }

    /// <summary>Done when the server has carried that write out.</summary>
    public TaskCompletionSource KeptBack { get; } = new();

    public void Dispose()
    {
        _listener.Close();
        _server.Dispose();
    }

    private async Task AnswerAsync()
    {
        while (_listener.IsListening)
        {
            try
            {
                _ = AnswerAsync(await _listener.GetContextAsync());
            }
            catch (Exception closed) when (closed is HttpListenerException or ObjectDisposedException)
            {
                return;
            }
        }
    }

    private async Task AnswerAsync(HttpListenerContext asked)
    {
        if (Says is { } says)
        {
            asked.Response.StatusCode = Status;
            asked.Response.ContentType = "text/html";
            await asked.Response.OutputStream.WriteAsync(System.Text.Encoding.UTF8.GetBytes(says));
            asked.Response.Close();
            return;
        }

        using var request = new HttpRequestMessage(new HttpMethod(asked.Request.HttpMethod),
            new Uri(_to, asked.Request.RawUrl));
        if (asked.Request.HasEntityBody)
        {
            using var body = new StreamReader(asked.Request.InputStream);
            request.Content = new StringContent(await body.ReadToEndAsync(), System.Text.Encoding.UTF8,
                "application/json");
        }

        foreach (var name in new[] { "Authorization", "Idempotency-Key", "Accept" })
        {
            if (asked.Request.Headers[name] is { } value)
                request.Headers.TryAddWithoutValidation(name, value);
        }

        using var answer = await _server.SendAsync(request);
        var bytes = await answer.Content.ReadAsByteArrayAsync();
        if (asked.Request.HttpMethod == "POST" && ++_writes == KeepsBack)
        {
            KeptBack.SetResult();
            return;
        }

        asked.Response.StatusCode = (int)answer.StatusCode;
        asked.Response.ContentType = answer.Content.Headers.ContentType?.ToString();
        await asked.Response.OutputStream.WriteAsync(bytes);
        asked.Response.Close();
    }

    private static int FreePort()
    {
        using var any = new System.Net.Sockets.TcpListener(IPAddress.Loopback, 0);
        any.Start();
        return ((IPEndPoint)any.LocalEndpoint).Port;
    }
}
