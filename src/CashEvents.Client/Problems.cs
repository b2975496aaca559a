using System.Net;

namespace CashEvents.Client;

/// <summary>
/// Makes an exception of each answer that is a problem, and of what is no answer of the book's server at all, such as
/// the page of a hotspot that wants to be logged in to.
/// </summary>
internal sealed class Problems(HttpMessageHandler inner) : DelegatingHandler(inner)
{
    private const string Json = "application/json";

    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
        CancellationToken cancellationToken)
    {
        var response = await base.SendAsync(request, cancellationToken).ConfigureAwait(false);
        var isStranger = request.Headers.Accept.Count == 1 && request.Headers.Accept.Single().MediaType == Json
            && response.StatusCode is HttpStatusCode.OK or HttpStatusCode.Created or HttpStatusCode.Accepted
            && response.Content.Headers.ContentType?.MediaType != Json;
        if ((int)response.StatusCode < 400 && !isStranger)
        {
            return response;
        }

        using (response)
        {
            if (isStranger)
            {
                throw new HttpRequestException(HttpRequestError.InvalidResponse,
                    "What answers there is not CashEvents.");
            }

            throw new CashEventsProblemException((int)response.StatusCode, response.ReasonPhrase,
                await response.Content.ReadAsStringAsync(cancellationToken).ConfigureAwait(false));
        }
    }
}
