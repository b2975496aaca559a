using System.Net;
using FluentValidation;

namespace CashEvents.Api.Households;

/// <summary>With what a browser signs in: one of the two.</summary>
/// <param name="Key">A key of the household.</param>
/// <param name="Code">A code that is good once: of the link that the program prints when it starts, or of a
/// pairing.</param>
public sealed record SessionRequest(string? Key, string? Code);

/// <summary>Who is signed in.</summary>
/// <param name="Name">Name of the key, which stands beside each line that is written.</param>
/// <param name="Role">What it may do.</param>
public sealed record SessionAnswer(string Name, Role Role);

internal sealed class SessionRequestValidator : AbstractValidator<SessionRequest>
{
    public SessionRequestValidator() => RuleFor(r => r.Key).Must((r, key) => key is null != r.Code is null)
        .WithMessage("Send `key` or `code`, one of them.");
}

internal sealed class SessionEndpoints : IEndpoints
{
    /// <summary>The one address that asks for no key: it takes one.</summary>
    public const string Address = "/api/sessions";

    public static void Map(IEndpointRouteBuilder api)
    {
        // They are for browsers and the page, and not for programs of others: those send the key.
        api.MapPost("/sessions", SignInAsync).ExcludeFromDescription();
        api.MapDelete("/sessions", SignOutAsync).ExcludeFromDescription();
    }

    private static async Task<IResult> SignInAsync(HttpContext http, Body<SessionRequest> body, Entrance entrance)
    {
        if (!SessionCookie.IsOwnPage(http) && http.Request.Headers.Origin.Count > 0)
        {
            return Entrance.OfAnotherPage();
        }

        var (key, refusal) = body.Value.Code is { } code
            ? await entrance.OfCodeAsync(http, code.Trim()).ConfigureAwait(false)
            : await entrance.OfKeyAsync(http, body.Value.Key!.Trim()).ConfigureAwait(false);
        if (key is null)
        {
            return refusal!;
        }

        SessionCookie.Set(http, await entrance.OpenAsync(key, http.RequestAborted).ConfigureAwait(false));
        return TypedResults.Ok(new SessionAnswer(key.Name, key.Role));
    }

    private static async Task<IResult> SignOutAsync(HttpContext http, Sessions sessions)
    {
        Reads.OnlyTakes(http);
        if (SessionCookie.Of(http) is { } kept)
        {
            await sessions.CloseAsync(kept, http.RequestAborted).ConfigureAwait(false);
            SessionCookie.Forget(http);
        }

        return TypedResults.NoContent();
    }
}

/// <summary>Lets browsers in.</summary>
internal sealed class Entrance(KeyRing keys, WrongKeys wrong, OneTimeCodes codes, Sessions sessions, WriteDesk desk,
    TimeProvider clock)
{
    /// <summary>The answer to a page of another origin that uses what a browser keeps for this one.</summary>
    public static IResult OfAnotherPage() => Problems.Of(StatusCodes.Status403Forbidden, "other-page",
        "A page of another origin asks for this. What a browser is signed in for is for this server's own page: send "
            + "the header `Authorization: Bearer KEY` from elsewhere.");

    /// <summary>Signs a browser in for a key.</summary>
    /// <returns>What it keeps.</returns>
    public Task<string> OpenAsync(Key key, CancellationToken cancellation) =>
        sessions.OpenAsync(key.Hash, cancellation);

    /// <summary>The key that was sent, or why it lets nobody in.</summary>
    public async Task<(Key? Key, IResult? Refusal)> OfKeyAsync(HttpContext http, string written)
    {
        using var look = wrong.Look(http, written);
        if (!look.IsFree)
        {
            return (null, WrongKeys.TooMany(http));
        }

        var holder = await keys.FindAsync(written, http.RequestAborted).ConfigureAwait(false);
        if (holder?.Key.OverAt(clock.GetUtcNow()) is { } over)
        {
            return (null, Unknown(over.Code, over.Detail));
        }

        if (holder is not null)
        {
            look.WasRight();
            return (holder.Key, null);
        }

        return (null, await look.WasWrongAsync().ConfigureAwait(false) ? WrongKeys.TooMany(http)
            : Unknown(Refusal.Stranger.Code, Refusal.Stranger.Detail));
    }

    /// <summary>The key that a code stands for, or is issued for it; or why it lets nobody in.</summary>
    public async Task<(Key? Key, IResult? Refusal)> OfCodeAsync(HttpContext http, string written)
    {
        using var look = wrong.Look(http, written);
        if (!look.IsFree)
        {
            return (null, WrongKeys.TooMany(http));
        }

        switch (codes.Take(written, http.Connection.RemoteIpAddress is { } from && IPAddress.IsLoopback(from)))
        {
            case KeepersLink link
                when await keys.FindByHashAsync(link.Key, http.RequestAborted).ConfigureAwait(false) is { } holder
                    && holder.Key.OverAt(clock.GetUtcNow()) is null:
                return (holder.Key, null);
            case Pairing pairing:
                // It is written by the keeper who showed the code, as if they had issued the key then.
                http.Items[typeof(Caller)] = pairing.By;
                var command = new IssueKey(pairing.Name, pairing.Role, [], KeyRing.Hash(KeyRing.NewKey()))
                { AskedAt = clock.GetUtcNow() };
                var (entry, _) = await desk.WriteAsync(http, command, "key", pairing.Name).ConfigureAwait(false);
                return (entry.Key, null);
            default:
                return (null, await look.WasWrongAsync().ConfigureAwait(false) ? WrongKeys.TooMany(http)
                    : Problems.Of(StatusCodes.Status401Unauthorized, "code-used",
                        "This code lets nobody in any more. The keeper shows another under Book, Keys. The program "
                        + "prints another when it starts, which is good at its machine alone."));
        }
    }

    private static IResult Unknown(string code, string detail) =>
        Problems.Of(StatusCodes.Status401Unauthorized, code, detail);
}
