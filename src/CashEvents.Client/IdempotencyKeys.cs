using System.Net.Http.Headers;
using System.Text.Json.Nodes;
using Microsoft.Kiota.Abstractions;

namespace CashEvents.Client;

/// <summary>
/// Names each write, so that it can be sent again and is written once. In a batch each movement has its name.
/// </summary>
internal sealed class IdempotencyKeys(HttpMessageHandler inner) : DelegatingHandler(inner)
{
    public const string Header = "Idempotency-Key";

    private const string Batches = "/api/batches";

    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
        CancellationToken cancellationToken)
    {
        if (request.Method != HttpMethod.Get && request.Method != HttpMethod.Head)
        {
            if (request.RequestUri!.AbsolutePath == Batches)
            {
                await NameMovementsAsync(request, cancellationToken).ConfigureAwait(false);
            }
            else if (!request.Headers.Contains(Header))
            {
                request.Headers.Add(Header, New());
            }
        }

        return await base.SendAsync(request, cancellationToken).ConfigureAwait(false);
    }

    private static async Task NameMovementsAsync(HttpRequestMessage request, CancellationToken cancellationToken)
    {
        var batch = JsonNode.Parse(await request.Content!.ReadAsStringAsync(cancellationToken).ConfigureAwait(false))!;
        foreach (var movement in (batch["movements"] as JsonArray ?? []).OfType<JsonObject>())
        {
            movement["idempotencyKey"] ??= New();
        }

        request.Content = new StringContent(batch.ToJsonString(), new MediaTypeHeaderValue("application/json"));
    }

    private static string New() => Guid.NewGuid().ToString();
}

/// <summary>Names a request oneself.</summary>
public static class IdempotencyKeyExtensions
{
    /// <summary>
    /// Sends a write under a name of one's own. Under the same name it is written once, for a year, whoever sends it.
    /// </summary>
    /// <param name="request">The request, as the builders of <see cref="CashEventsClient.Api"/> hand it out.</param>
    /// <param name="key">1 to 200 printable ASCII characters.</param>
    public static void UseIdempotencyKey<T>(this RequestConfiguration<T> request, string key) where T : class, new()
    {
        ArgumentNullException.ThrowIfNull(request);
        request.Headers.Add(IdempotencyKeys.Header, key);
    }
}
