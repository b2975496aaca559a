namespace CashEvents.Client;

/// <summary>Makes an exception of each answer that is a problem.</summary>
internal sealed class Problems(HttpMessageHandler inner) : DelegatingHandler(inner)
{
    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
        CancellationToken cancellationToken)
    {
        var response = await base.SendAsync(request, cancellationToken).ConfigureAwait(false);
        if ((int)response.StatusCode < 400)
        {
            return response;
        }

        using (response)
        {
            throw new CashEventsProblemException((int)response.StatusCode, response.ReasonPhrase,
                await response.Content.ReadAsStringAsync(cancellationToken).ConfigureAwait(false));
        }
    }
}
