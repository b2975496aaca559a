using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Http;

/// <summary>
/// Refuses a request whose sender takes none of the forms in which its address answers (RFC 9110, section 15.5.7),
/// before anything is read or written.
/// </summary>
internal sealed class Acceptable(RequestDelegate next)
{
    public Task InvokeAsync(HttpContext context)
    {
        var forms = context.GetEndpoint()?.Metadata.GetOrderedMetadata<IProducesResponseTypeMetadata>()
            .Where(answer => answer.StatusCode is >= 200 and < 300).SelectMany(answer => answer.ContentTypes).Distinct()
            .ToList();
        // An address of a form says itself whether there is one.
        if (forms is not { Count: > 0 } || FormAddresses.Asked(context) is not null
            || forms.Any(form => Forms.Liking(form, context.Request) > 0))
        {
            return next(context);
        }

        var mend = $"This address answers as {string.Join(", ", forms)}, and none of that is in `Accept`.";
        return Problems.Of(StatusCodes.Status406NotAcceptable, "not-acceptable", mend,
            new Dictionary<string, string[]> { [HeaderNames.Accept] = [mend] }).ExecuteAsync(context);
    }
}
