using System.Net.Mime;
using Microsoft.AspNetCore.Http.Metadata;

namespace CashEvents.Api.Http;

/// <summary>A form in which some answers come, with addresses of its own.</summary>
/// <param name="Under">Where those begin.</param>
/// <param name="MediaType">The form.</param>
/// <param name="Means">What people call it.</param>
internal sealed record FormAddress(string Under, string MediaType, string Means);

/// <summary>
/// Addresses of one form: <c>/api/csv/weeks</c> is <c>/api/weeks</c> as CSV, and <c>/api/print/weeks</c> its page to
/// print. A link can then name the form, and a client need not send <c>Accept</c>.
/// </summary>
internal sealed class FormAddresses(RequestDelegate next)
{
    /// <summary>Where all addresses begin.</summary>
    public const string Root = "/api";

    /// <summary>The forms beside JSON.</summary>
    public static IReadOnlyList<FormAddress> All { get; } =
    [
        new("/api/csv", MediaTypeNames.Text.Csv, "CSV"),
        new("/api/print", MediaTypeNames.Text.Html, "a page"),
    ];

    public Task InvokeAsync(HttpContext context)
    {
        foreach (var form in All)
        {
            if (context.Request.Path.StartsWithSegments(form.Under, out var rest) && rest.HasValue)
            {
                context.Items[typeof(FormAddress)] = form;
                context.Request.Path = Root + rest;
                context.Request.Headers.Accept = form.MediaType;
            }
        }

        return next(context);
    }

    /// <summary>An address of this server as a sender who was answered in this form would ask for it.</summary>
    public static string Of(HttpContext context, string address) =>
        Asked(context) is { } form ? form.Under + address[Root.Length..] : address;

    /// <summary>The form that was asked for by the address; null when the address says nothing of it.</summary>
    public static FormAddress? Asked(HttpContext context) => context.Items[typeof(FormAddress)] as FormAddress;
}

/// <summary>There is nothing at an address of a form in which its answer does not come.</summary>
internal sealed class FormsThatThereAre : IEndpointFilter
{
    public ValueTask<object?> InvokeAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
    {
        var http = context.HttpContext;
        return FormAddresses.Asked(http) is not { } form
            || http.GetEndpoint()!.Metadata.GetOrderedMetadata<IProducesResponseTypeMetadata>()
                .Any(answer => answer.ContentTypes.Contains(form.MediaType))
                ? next(context)
                : ValueTask.FromResult<object?>(Problems.Of(StatusCodes.Status404NotFound, "address-unknown",
                    $"{http.Request.Path} has no form of its own under {form.Under}: ask for {http.Request.Path}."));
    }
}
