using System.Net.Http.Headers;
using System.Text;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;

namespace CashEvents.Api.Hosting;

/// <summary>
/// This program's own API, asked over HTTP with a key as by anybody else: what comes by another way has the same
/// rights, the same checks and the same words.
/// </summary>
internal sealed class OwnApi(IServer server) : IDisposable
{
#pragma warning disable CA5359 // Nobody else can answer where this program listens, whatever its certificate says.
    private readonly HttpClient _http = new(new SocketsHttpHandler
    {
        UseCookies = false,
        UseProxy = false,
        SslOptions = new() { RemoteCertificateValidationCallback = (_, _, _, _) => true },
    })
    { Timeout = TimeSpan.FromSeconds(30) };
#pragma warning restore CA5359

    /// <summary>Asks.</summary>
    /// <param name="method">GET or POST.</param>
    /// <param name="path">The address.</param>
    /// <param name="key">With which key.</param>
    /// <param name="body">JSON; null for none.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<(int Status, string Answer)> AskAsync(HttpMethod method, string path, string key, string? body,
        CancellationToken cancellation)
    {
        using var request = new HttpRequestMessage(method, new Uri(Address(), path));
        request.Headers.Authorization = new AuthenticationHeaderValue("Bearer", key);
        request.Content = body is null ? null : new StringContent(body, Encoding.UTF8, "application/json");
        using var answer = await _http.SendAsync(request, cancellation).ConfigureAwait(false);
        return ((int)answer.StatusCode, await answer.Content.ReadAsStringAsync(cancellation).ConfigureAwait(false));
    }

    public void Dispose() => _http.Dispose();

    // One that listens to all listens to this machine.
    private Uri Address()
    {
        var addresses = server.Features.Get<IServerAddressesFeature>()!.Addresses;
        var chosen = BindingAddress.Parse(
            addresses.FirstOrDefault(a => a.StartsWith("http:", StringComparison.Ordinal)) ?? addresses.First());
        var host = chosen.Host is "+" or "*" or "0.0.0.0" or "[::]" ? "localhost" : chosen.Host;
        return new Uri(FormattableString.Invariant($"{chosen.Scheme}://{host}:{chosen.Port}"));
    }
}
