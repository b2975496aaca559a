using System.Net.Http.Headers;
using CashEvents.Client.Api;
using Microsoft.Kiota.Abstractions;
using Microsoft.Kiota.Abstractions.Authentication;
using Microsoft.Kiota.Http.HttpClientLibrary;

namespace CashEvents.Client;

/// <summary>
/// Talks to one household's book. A write that got no answer is sent again under the same idempotency key, so that it
/// is written once. A problem that the server answers with is a <see cref="CashEventsProblemException"/>; a server that
/// can't be reached is an <see cref="HttpRequestException"/>, and so is something else that answers in its place.
/// </summary>
public sealed class CashEventsClient : IDisposable
{
    private readonly HttpClientRequestAdapter _requests;

    /// <summary>Makes a client; nothing is sent yet.</summary>
    /// <param name="address">Where the server listens, such as <c>http://127.0.0.1:5080</c>.</param>
    /// <param name="key">A key of the household.</param>
    /// <param name="options">How patient it is.</param>
    public CashEventsClient(Uri address, string key, CashEventsClientOptions? options = null)
    {
        ArgumentNullException.ThrowIfNull(address);
        ArgumentException.ThrowIfNullOrWhiteSpace(key);
        options ??= new CashEventsClientOptions();
        var inner = options.Inner ?? new SocketsHttpHandler { ConnectTimeout = options.ConnectWithin };
        Http = new HttpClient(new Problems(new IdempotencyKeys(new Retries(options, inner))))
        {
            BaseAddress = address,
            Timeout = Timeout.InfiniteTimeSpan,
        };
        Http.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", key);
        _requests = new HttpClientRequestAdapter(new AnonymousAuthenticationProvider(), httpClient: Http)
        {
            BaseUrl = address.GetLeftPart(UriPartial.Authority),
        };
        Api = new BookApi(_requests).Api;
    }

    /// <summary>Everything under <c>/api</c>, as the server's OpenAPI document describes it.</summary>
    public ApiRequestBuilder Api { get; }

    /// <summary>
    /// The same connection, with key, retries and problems, for what has no form in the document: sheets as CSV
    /// (<c>/api/csv/...</c>) and pages to print (<c>/api/print/...</c>).
    /// </summary>
    public HttpClient Http { get; }

    /// <summary>Sends a request that was described by <see cref="Api"/> and gives its answer as it came.</summary>
    /// <exception cref="CashEventsProblemException">The server answers with a problem.</exception>
    /// <exception cref="HttpRequestException">The server can't be reached.</exception>
    public async Task<HttpResponseMessage> SendAsync(RequestInformation request,
        CancellationToken cancellationToken = default)
    {
        var message = await _requests.ConvertToNativeRequestAsync<HttpRequestMessage>(request, cancellationToken)
            .ConfigureAwait(false);
        return await Http.SendAsync(message!, cancellationToken).ConfigureAwait(false);
    }

    /// <inheritdoc />
    public void Dispose()
    {
        _requests.Dispose();
        Http.Dispose();
    }
}
