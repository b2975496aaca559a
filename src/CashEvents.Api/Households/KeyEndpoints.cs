using System.Collections.Immutable;
using FluentValidation;

namespace CashEvents.Api.Households;

/// <summary>A key to be issued.</summary>
/// <param name="Name">Who or what holds it, in ASCII. It stands beside each line that the key writes: a name is used
/// once, and no two differ in capitals, spaces and signs alone.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">For a script: the kinds of movement it may write.</param>
/// <param name="Expires">The household's date that is the last on which it is accepted, such as <c>2026-12-31</c>. Or
/// the instant from which it is not accepted. It does not expire if left out.</param>
public sealed record KeyRequest(string? Name, Role? Role, ImmutableArray<MovementKind>? Movements,
    string? Expires = null);

/// <summary>A key, without the key itself.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">For a script: the kinds of movement it may write.</param>
/// <param name="Revoked">No longer accepted.</param>
public sealed record KeyAnswer(string Name, Role Role, IReadOnlyList<MovementKind>? Movements, bool Revoked)
{
    /// <summary>The instant from which it is no longer accepted; absent when it does not expire.</summary>
    public DateTimeOffset? Expires { get; init; }

    /// <summary>
    /// When it was last used, for reading or writing; it may have been up to a minute later. Absent when it never was.
    /// </summary>
    public DateTimeOffset? LastUsed { get; init; }

    internal static KeyAnswer Of(Key key) =>
        new(key.Name, key.Role, key.Movements.IsDefaultOrEmpty ? null : key.Movements, key.Revoked)
        { Expires = key.Expires };
}

/// <summary>A key just issued.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">For a script: the kinds of movement it may write.</param>
/// <param name="Key">The key itself, shown this once; absent when the request is repeated, since only its hash is
/// kept.</param>
/// <param name="Lines">The line that says so.</param>
/// <param name="EntryId">Its entry.</param>
public sealed record KeyIssuedAnswer(string Name, Role Role, IReadOnlyList<MovementKind>? Movements, string? Key,
    IReadOnlyList<long> Lines, long? EntryId)
{
    /// <summary>The instant from which it is no longer accepted; absent when it does not expire.</summary>
    public DateTimeOffset? Expires { get; init; }
}

/// <summary>The household's keys.</summary>
/// <param name="Keys">In the order they were issued, revoked ones too.</param>
public sealed record KeysAnswer(IReadOnlyList<KeyAnswer> Keys);

internal sealed class KeyRequestValidator : AbstractValidator<KeyRequest>
{
    public KeyRequestValidator()
    {
        RuleFor(r => r.Name).NotEmpty().WithMessage("`name` is needed: who or what holds the key.");
        RuleFor(r => r.Role).NotNull().WithMessage("`role` is needed: keeper, member, script or viewer.");
        RuleFor(r => r.Expires).Must(written => KeyEndpoints.Expiry(written) is not null)
            .WithMessage(KeyEndpoints.ExpiryForms);
    }
}

internal sealed class KeyEndpoints : IEndpoints
{
    /// <summary>How an expiry is written.</summary>
    public const string ExpiryForms =
        "`expires` is a day written like 2026-12-31, or an instant with its offset from UTC, written like "
            + "2026-12-31T18:00:00Z.";

    /// <summary>The day or the instant that is written, neither where nothing is; null where it is neither.</summary>
    public static (DateOnly? LastDay, DateTimeOffset? Instant)? Expiry(string? written)
    {
        try
        {
            return written is null ? (null, null)
                : written.Contains('T', StringComparison.Ordinal)
                    ? (null, Reads.Instant(written, "expires")!.Value.ToUniversalTime())
                : (Reads.Day(written, "expires"), null);
        }
        catch (MalformedException)
        {
            return null;
        }
    }

    public static void Map(IEndpointRouteBuilder api)
    {
        MapIssuing(api);
        MapList(api);
        MapOne(api);
        MapRevoking(api);
        MapRevokingByParameter(api);
    }

    private static void MapIssuing(IEndpointRouteBuilder api) => api
        .MapPost("/keys", async (HttpContext http, Caller caller, Body<KeyRequest> body, WriteDesk desk,
            TimeProvider clock) =>
        {
            caller.MustKeep();
            var sent = body.Value;
            var key = KeyRing.NewKey();
            var hash = KeyRing.Hash(key);
            var (lastDay, instant) = Expiry(sent.Expires)!.Value;
            var command = new IssueKey(sent.Name!, sent.Role!.Value, sent.Movements ?? [], hash)
            { LastDay = lastDay, Expires = instant, AskedAt = clock.GetUtcNow() };
            var (entry, _) = await desk.WriteAsync(http, command, "key", sent).ConfigureAwait(false);
            var issued = entry.Key!;
            return TypedResults.Created(
                $"/api/keys/{Uri.EscapeDataString(issued.Name)}",
                new KeyIssuedAnswer(issued.Name, issued.Role, KeyAnswer.Of(issued).Movements,
                    issued.Hash == hash ? key : null, entry.Lines, entry.Id)
                { Expires = issued.Expires });
        })
        .Accepts<KeyRequest>("application/json")
        .Produces<KeyIssuedAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Issue a key; it is shown this once")
        .WithDescription("Roles: keeper (everything), member (movements and counts), script (the movements its key "
            + "lists), viewer (reading). A script's key lists them: fill, spend, refund, transfer, sweep, count, "
            + "settlement, exchange, reversal, amendment and handover. Every line that a request would write has "
            + "to be listed. Only a hash of the key is kept. "
            + "With `expires` it is refused after that day, or from that instant on.")
        .WithExample(
            """{"name": "payday script", "role": "script", "movements": ["fill"]}""",
            """{"name": "payday script", "role": "script", "movements": ["fill"], "key": "ce_x3Jq0c5xk2mU1h7b9Wn4s8tVpQ6yZ0aLrE2dFgHiJkM", "lines": [12], "entryId": 12}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/keys", async (HttpContext http, Caller caller, BookReader books, KeyRing ring) =>
        {
            Reads.OnlyTakes(http);
            caller.MustKeep();
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            var uses = await ring.LastUsesAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            return TypedResults.Ok(new KeysAnswer(
                [.. book.Keys.Values.OrderBy(k => k.Line)
                    .Select(k => KeyAnswer.Of(k) with
                    {
                        LastUsed = uses.TryGetValue(k.Name, out var used) ? used : null,
                    })]));
        })
        .Produces<KeysAnswer>()
        .RefusesReads(StatusCodes.Status403Forbidden)
        .WithSummary("The household's keys, revoked ones too, without the keys themselves")
        .WithExample(null,
            """{"keys": [{"name": "keeper", "role": "keeper", "revoked": false, "lastUsed": "2026-11-15T12:00:00+00:00"}, {"name": "payday script", "role": "script", "movements": ["fill"], "revoked": false}]}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/keys/{name}", async (HttpContext http, Caller caller, string name, BookReader books, KeyRing ring) =>
        {
            Reads.OnlyTakes(http);
            caller.MustKeep();
            name = Reads.LastStep(http, name);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var key = book.Keys.TryGetValue(name, out var known) ? known
                : throw Refusal.NotFound("key-unknown", $"There is no key named '{name}'.",
                    NearNames.Of(name, book.Keys.Keys));
            Answers.StampLine(http, book.Line);
            var uses = await ring.LastUsesAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            return TypedResults.Ok(KeyAnswer.Of(key) with
            {
                LastUsed = uses.TryGetValue(name, out var used) ? used : null,
            });
        })
        .Produces<KeyAnswer>()
        .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
        .WithSummary("One key, without the key itself")
        .WithParameter("name", "Name of the key.", "keeper")
        .WithExample(null,
            """{"name": "keeper", "role": "keeper", "revoked": false, "lastUsed": "2026-11-15T12:00:00+00:00"}""");

    private static void MapRevoking(IEndpointRouteBuilder api) => api
        .MapDelete("/keys/{name}", (HttpContext http, Caller caller, string name, WriteDesk desk) =>
        {
            Reads.OnlyTakes(http);
            return RevokeAsync(http, caller, Reads.LastStep(http, name), desk);
        })
        .Produces(StatusCodes.Status204NoContent)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Revoke a key; the lines it wrote keep its name")
        .WithDescription("The last keeper's key that does not expire can't be revoked. A key that was "
                + "revoked before stays so.")
        .WithParameter("name", "Name of the key.", "payday script")
        .WithExample(null, null);

    private static void MapRevokingByParameter(IEndpointRouteBuilder api) => api
        .MapDelete("/keys", (HttpContext http, Caller caller, string? name, WriteDesk desk) =>
        {
            Reads.OnlyTakes(http, "name");
            return RevokeAsync(http, caller,
                string.IsNullOrEmpty(name)
                    ? throw new MalformedException("name", "`name` says which key is revoked.")
                    : name, desk);
        })
        .Produces(StatusCodes.Status204NoContent)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Revoke a key of any name, such as one from before names were held to letters and digits")
        .WithDescription("The same as DELETE /api/keys/{name}. Clients and proxies take steps such as `..` "
                + "out of an address, so a key of that name can be named only here.")
        .WithParameter("name", "Name of the key.", "payday script")
        .WithExample(null, null);

    private static async Task<IResult> RevokeAsync(HttpContext http, Caller caller, string name, WriteDesk desk)
    {
        caller.MustKeep();
        await desk.WriteAsync(http, new RevokeKey(name), $"revoke {name}", name).ConfigureAwait(false);
        return TypedResults.NoContent();
    }
}

/// <summary>A line of the kind <c>keyIssued</c>.</summary>
public sealed record KeyIssuedLine : LineAnswer, ILineOf<KeyIssued>
{
    /// <summary>The household's or a key's name.</summary>
    public required string Name { get; init; }

    /// <summary>A key's role.</summary>
    public required Role Role { get; init; }

    /// <summary>The movements that a script's key may write.</summary>
    public IReadOnlyList<MovementKind>? Movements { get; init; }

    /// <summary>The instant from which a key is no longer accepted.</summary>
    public DateTimeOffset? Expires { get; init; }

    static LineAnswer ILineOf<KeyIssued>.Of(KeyIssued e, LineTelling told) =>
        new KeyIssuedLine
        {
            Name = e.Name,
            Role = e.Role,
            Movements = e.Movements.IsDefaultOrEmpty ? null : e.Movements,
            Expires = e.Expires
        };
}

/// <summary>A line of the kind <c>keyRevoked</c>.</summary>
public sealed record KeyRevokedLine : LineAnswer, ILineOf<KeyRevoked>
{
    /// <summary>The household's or a key's name.</summary>
    public required string Name { get; init; }

    static LineAnswer ILineOf<KeyRevoked>.Of(KeyRevoked e, LineTelling told) =>
        new KeyRevokedLine { Name = e.Name };
}
