using System.Net;
using FluentValidation;

namespace CashEvents.Api.Notices;

/// <summary>What is to be sent, and where to.</summary>
/// <param name="Url">Where to: http or https, without a fragment and without a user's name.</param>
/// <param name="Kinds">Kinds of line, and <c>notice</c> for notices; all if left out.</param>
/// <param name="Compartments">Only what is about these compartments; all if left out.</param>
public sealed record WebhookRequest(string? Url, IReadOnlyList<string>? Kinds, IReadOnlyList<string>? Compartments);

/// <summary>A webhook.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Url">Where it sends to.</param>
/// <param name="Kinds">What it sends; empty for all.</param>
/// <param name="Compartments">About which compartments; empty for all.</param>
/// <param name="State">Active, or parked after three days in vain.</param>
/// <param name="Line">The last line that was taken, or is not wanted.</param>
public sealed record WebhookAnswer(string Id, string Url, IReadOnlyList<string> Kinds,
    IReadOnlyList<string> Compartments, WebhookState State, long Line)
{
    /// <summary>The secret that signs, shown this once; absent otherwise.</summary>
    public string? Secret { get; init; }

    /// <summary>The instant (UTC) until which the secret before signs too; absent where none does.</summary>
    public DateTimeOffset? OldSecretUntil { get; init; }

    /// <summary>How often the next message was sent in vain; absent while nothing fails.</summary>
    public int? Failures { get; init; }

    /// <summary>The instant (UTC) since which it is in vain; absent while nothing fails.</summary>
    public DateTimeOffset? FailingSince { get; init; }

    /// <summary>The instant (UTC) at which it is sent again; absent while nothing fails.</summary>
    public DateTimeOffset? RetryAt { get; init; }

    internal static WebhookAnswer Of(Webhook webhook, DateTimeOffset now) =>
        new(webhook.Id, webhook.Url, webhook.Kinds, webhook.Compartments, webhook.State, webhook.Line)
        {
            OldSecretUntil = now < webhook.OldUntil ? webhook.OldUntil : null,
            Failures = webhook.Failures == 0 ? null : webhook.Failures,
            FailingSince = webhook.FailingSince,
            RetryAt = webhook.State == WebhookState.Active ? webhook.RetryAt : null,
        };
}

/// <summary>The household's webhooks.</summary>
/// <param name="Webhooks">In the order of their ids.</param>
public sealed record WebhooksAnswer(IReadOnlyList<WebhookAnswer> Webhooks);

/// <summary>A message that was sent.</summary>
/// <param name="Id">Its <c>webhook-id</c>: the same each time it is sent.</param>
/// <param name="Kind">A kind of line, <c>notice</c> or <c>test</c>.</param>
/// <param name="Number">Number of the line, or of the telling of a notice.</param>
/// <param name="Delivered">Whether it was taken, the last time.</param>
/// <param name="Attempts">How often it was sent.</param>
/// <param name="LastAt">The instant (UTC) of the last time.</param>
public sealed record DeliveryAnswer(string Id, string Kind, long Number, bool Delivered, int Attempts,
    DateTimeOffset LastAt)
{
    /// <summary>The status that came back the last time; absent where none did.</summary>
    public int? Status { get; init; }

    /// <summary>What was the matter the last time; absent where it was taken.</summary>
    public string? Fault { get; init; }

    internal static DeliveryAnswer Of(Delivery delivery) => new(delivery.Id, delivery.Kind, delivery.Number,
        delivery.IsDelivered, delivery.Attempts, delivery.LastAt)
    {
        Status = delivery.Status,
        Fault = delivery.Fault,
    };
}

/// <summary>What was sent lately.</summary>
/// <param name="Deliveries">The latest first.</param>
public sealed record DeliveriesAnswer(IReadOnlyList<DeliveryAnswer> Deliveries);

internal sealed class WebhookRequestValidator : AbstractValidator<WebhookRequest>
{
    private const int LongestUrl = 2000;
    private static readonly string[] _kinds = [.. LineKinds.Types.Keys.Append("notice").Order(StringComparer.Ordinal)];

    public WebhookRequestValidator()
    {
        RuleFor(r => r.Url).Must(IsToSendTo)
            .WithMessage("`url` is where to send: http or https, without a fragment and a user's name, at most "
                + $"{LongestUrl} characters.")
            .Must(url => !IPAddress.TryParse(new Uri(url!).Host.Trim('[', ']'), out var address)
                || HomeAddresses.Has(address))
            .WithMessage("Nothing is sent to addresses that are only good on one wire, such as 169.254.0.1.");
        RuleForEach(r => r.Kinds).Must(kind => _kinds.Contains(kind))
            .WithMessage($"A kind is one of {string.Join(", ", _kinds)}.");
    }

    private static bool IsToSendTo(string? url) => url is { Length: > 0 and <= LongestUrl }
        && Uri.TryCreate(url, UriKind.Absolute, out var uri)
        && (uri.Scheme == Uri.UriSchemeHttp || uri.Scheme == Uri.UriSchemeHttps)
        && uri.UserInfo.Length == 0 && uri.Fragment.Length == 0;
}
