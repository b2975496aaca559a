using System.Net.ServerSentEvents;
using System.Net.Sockets;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Listens to the feed as a program outside would.</summary>
internal sealed class Listener : IAsyncDisposable
{
    private readonly HttpClient _http;
    private readonly HttpResponseMessage _response;
    private readonly SseParser<string> _parser;
    private readonly IAsyncEnumerator<SseItem<string>> _events;

    private Listener(HttpClient http, HttpResponseMessage response, Stream stream)
    {
        (_http, _response) = (http, response);
        _parser = SseParser.Create(stream);
        _events = _parser.EnumerateAsync().GetAsyncEnumerator(TestContext.Current.CancellationToken);
    }

    /// <summary>What it would send as Last-Event-ID if it came back.</summary>
    public string Heard => _parser.LastEventId;

    /// <summary>Asks for the feed.</summary>
    /// <param name="client">With whose key.</param>
    /// <param name="query">Such as <c>?after=5</c>.</param>
    /// <param name="heard">Sent as Last-Event-ID; null for none.</param>
    /// <param name="smallBuffer">Whether little fits between server and listener.</param>
    public static async Task<Listener> ListenAsync(ApiClient client, string query = "", string? heard = null,
        bool smallBuffer = false)
    {
        var (http, response) = await AskAsync(client, query, heard, smallBuffer);
        Assert.Equal(200, (int)response.StatusCode);
        Assert.Equal("text/event-stream", response.Content.Headers.ContentType!.MediaType);
        return new Listener(http, response, await response.Content.ReadAsStreamAsync());
    }

    /// <summary>Asks for the feed, and is refused; where it may not be, null when it is not.</summary>
    public static async Task<Reply?> RefusedAsync(ApiClient client, string query = "", string? heard = null,
        bool orNot = false)
    {
        var (http, response) = await AskAsync(client, query, heard, smallBuffer: false);
        using (http)
        using (response)
        {
            if (orNot && response.IsSuccessStatusCode)
            {
                return null;
            }

            Assert.NotEqual(200, (int)response.StatusCode);
            return await Reply.ReadAsync(response);
        }
    }

    private static async Task<(HttpClient Http, HttpResponseMessage Response)> AskAsync(ApiClient client, string query,
        string? heard, bool smallBuffer)
    {
        var http = new HttpClient(new SocketsHttpHandler
        {
            UseCookies = false,
            ConnectCallback = async (context, cancellation) =>
            {
                var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
                if (smallBuffer)
                {
                    socket.ReceiveBufferSize = 4096;
                }

                await socket.ConnectAsync(context.DnsEndPoint, cancellation);
                return new NetworkStream(socket, ownsSocket: true);
            },
        });
        using var ask = new HttpRequestMessage(HttpMethod.Get, client.Address + "/api/feed" + query);
        ask.Headers.Authorization = new("Bearer", client.Key);
        if (heard is not null)
        {
            ask.Headers.TryAddWithoutValidation("Last-Event-ID", heard);
        }

        return (http, await http.SendAsync(ask, HttpCompletionOption.ResponseHeadersRead,
            TestContext.Current.CancellationToken));
    }

    /// <summary>The next event; null when the stream has ended.</summary>
    public async Task<(string? Id, string Kind, JsonElement Data)?> NextAsync()
    {
        if (!await _events.MoveNextAsync())
        {
            return null;
        }

        var said = _events.Current;
        return (said.EventId, said.EventType, JsonDocument.Parse(said.Data).RootElement);
    }

    /// <summary>The line of the next event, which must be one.</summary>
    public async Task<long> LineAsync()
    {
        var said = Assert.NotNull(await NextAsync());
        var line = said.Data.GetProperty("line").GetInt64();
        Assert.Equal($"{line}", said.Id);
        Assert.Equal(said.Data.GetProperty("kind").GetString(), said.Kind);
        return line;
    }

    /// <summary>Comes back when the stream has ended, with all that was still said.</summary>
    public async Task<List<(string? Id, string Kind, JsonElement Data)>> RestAsync()
    {
        var rest = new List<(string?, string, JsonElement)>();
        while (await NextAsync() is { } said)
        {
            rest.Add(said);
        }

        return rest;
    }

    public async ValueTask DisposeAsync()
    {
        _response.Dispose();
        _http.Dispose();
        try
        {
            await _events.DisposeAsync();
        }
        catch (Exception gone) when (gone is IOException or OperationCanceledException or ObjectDisposedException)
        {
            // The stream was closed while somebody listened.
        }
    }
}
