using System.Reflection;

namespace CashEvents.Api.Http;

/// <summary>Who sends a request, and in whose book.</summary>
/// <param name="Household">The tenant their key opens; nothing of another is ever read or written for them.</param>
/// <param name="Key">Their key.</param>
public sealed record Caller(string Household, Key Key)
{
    /// <summary>Their name, as it stands beside the lines they write.</summary>
    public string Name => Key.Name;

    /// <summary>Set by <see cref="KeyMiddleware"/> before any endpoint runs.</summary>
    public static ValueTask<Caller> BindAsync(HttpContext context, ParameterInfo parameter)
    {
        _ = parameter;
        return ValueTask.FromResult(Of(context));
    }

    /// <summary>The sender of a request that <see cref="KeyMiddleware"/> has let in.</summary>
    public static Caller Of(HttpContext context) =>
        IfKnown(context)
            ?? throw new InvalidOperationException("The endpoint is not behind the key middleware.");

    /// <summary>The sender of a request; null where it came in without a key, as those may that need none.</summary>
    public static Caller? IfKnown(HttpContext context) => context.Items[typeof(Caller)] as Caller;

    /// <summary>Refuses a sender whose key is not a keeper's, before the book is asked.</summary>
    public void MustKeep() => Key.MustKeep();

    /// <summary>
    /// Refuses a sender who may not write a movement of this kind, before the book is asked. What may be written is
    /// decided line by line, where lines are: here a sender is only spared the way.
    /// </summary>
    public void MustBeAllowed(MovementKind kind) => Key.MustBeAllowed(kind);
}

/// <summary>Lets in who brings a key of some household.</summary>
internal sealed class KeyMiddleware(RequestDelegate next, KeyRing keys, WrongKeys wrong, ServerKey server,
    Upgrading upgrading, TimeProvider clock)
{
    /// <summary>Tells a sender without a good key how to bring one.</summary>
    public const string Challenge = "Bearer realm=\"cashevents\"";

    private const string Scheme = "Bearer ";

    public async Task InvokeAsync(HttpContext context)
    {
        // OPTIONS tells what the OpenAPI document tells everybody.
        var path = context.Request.Path;
        if ((!path.StartsWithSegments("/api", StringComparison.OrdinalIgnoreCase) && !IsMetrics(path)
                && !path.Equals(Health.Detail, StringComparison.OrdinalIgnoreCase))
            || HttpMethods.IsOptions(context.Request.Method)
            || (HttpMethods.IsPost(context.Request.Method)
                && path.Equals(SessionEndpoints.Address, StringComparison.OrdinalIgnoreCase)))
        {
            await next(context).ConfigureAwait(false);
            return;
        }

        if (await RefusalAsync(context).ConfigureAwait(false) is { } refusal)
        {
            await refusal.ExecuteAsync(context).ConfigureAwait(false);
            return;
        }

        await next(context).ConfigureAwait(false);
    }

    private async ValueTask<IResult?> RefusalAsync(HttpContext context)
    {
        var header = context.Request.Headers.Authorization.ToString();
        var key = header.StartsWith(Scheme, StringComparison.OrdinalIgnoreCase) ? header[Scheme.Length..].Trim() : "";
        var kept = key.Length == 0 ? SessionCookie.Of(context) : null;
        if (kept is not null && !SessionCookie.IsOwnPage(context))
        {
            return Entrance.OfAnotherPage();
        }

        key = kept ?? key;
        if (key.Length == 0)
        {
            return Unknown(context, "key-missing",
                "Send the header `Authorization: Bearer KEY`. The keeper's key was printed at the first start and is "
                    + "kept in the data folder.");
        }

        using var look = wrong.Look(context, key);
        if (!look.IsFree)
        {
            return WrongKeys.TooMany(context);
        }

        var ofServer = context.Request.Path.StartsWithSegments(OpenedHouseholdEndpoints.Address);
        if (server.Is(key))
        {
            look.WasRight();
            return ofServer || IsMetrics(context.Request.Path) ? null : NotAllowed(
                "The server's key opens books and lists them; what stands in one is read and written with a key of its "
                    + "household.");
        }

        var holder = await keys.FindAsync(key, context.RequestAborted).ConfigureAwait(false);
        if (holder is null)
        {
            return await look.WasWrongAsync().ConfigureAwait(false) ? WrongKeys.TooMany(context)
                : kept is not null ? SignedInNoMore(context)
                : Unknown(context, Refusal.Stranger.Code, Refusal.Stranger.Detail);
        }

        if (holder.Key.OverAt(clock.GetUtcNow()) is { } over)
        {
            return kept is not null ? SignedInNoMore(context) : Unknown(context, over.Code, over.Detail);
        }

        look.WasRight();
        if (ofServer)
        {
            return NotAllowed("This is for whoever runs the server: send its key, which is kept in the data folder.");
        }

        if (upgrading.LeftOut.Contains(holder.Household))
        {
            return LeftOut(context);
        }

        await keys.NoteUseAsync(holder.Key, context.RequestAborted).ConfigureAwait(false);
        context.Items[typeof(Caller)] = new Caller(holder.Household, holder.Key);
        return null;
    }

    private static bool IsMetrics(PathString path) =>
        path.StartsWithSegments(MetricsEndpoint.Address, StringComparison.OrdinalIgnoreCase);

    /// <summary>The answer to who asks for a book that is left out.</summary>
    public static IResult LeftOut(HttpContext context)
    {
        context.Response.Headers.RetryAfter = "60";
        return Problems.Of(StatusCodes.Status503ServiceUnavailable, "book-left-out",
            "This book could not be brought up to this program, and it is left out. Whoever runs the program puts "
                + "it right, as its page on upgrading says, and starts it without --leave-out.");
    }

    private static IResult SignedInNoMore(HttpContext context)
    {
        SessionCookie.Forget(context);
        return Unknown(context, "signed-out",
            "This browser is signed in no more, since its key was revoked or has expired: sign in with another, or "
                + "have the keeper pair it again.");
    }

    private static IResult NotAllowed(string detail) =>
        Problems.Of(StatusCodes.Status403Forbidden, "not-allowed", detail);

    private static IResult Unknown(HttpContext context, string code, string detail)
    {
        context.Response.Headers.WWWAuthenticate = Challenge;
        return Problems.Of(StatusCodes.Status401Unauthorized, code, detail);
    }
}
