using System.Collections.Immutable;
using CashEvents.Api.Documentation;
using CashEvents.Api.Http;
using CashEvents.Domain.Books;
using CashEvents.Domain.Keys;
using CashEvents.Store.Books;
using CashEvents.Store.Keys;
using FluentValidation;

namespace CashEvents.Api.Keys;

/// <summary>A key to be issued.</summary>
/// <param name="Name">Who or what holds it; stands beside each line it writes, so a name is used once.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">For a script: the kinds of movement it may write.</param>
public sealed record KeyRequest(string? Name, Role? Role, ImmutableArray<MovementKind>? Movements);

/// <summary>A key, without the key itself.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">For a script: the kinds of movement it may write.</param>
/// <param name="Revoked">No longer accepted.</param>
public sealed record KeyAnswer(string Name, Role Role, IReadOnlyList<MovementKind>? Movements, bool Revoked)
{
    internal static KeyAnswer Of(Key key) => new(key.Name, key.Role, key.Movements.IsDefaultOrEmpty ? null : key.Movements, key.Revoked);
}

/// <summary>A key just issued.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">For a script: the kinds of movement it may write.</param>
/// <param name="Key">The key itself, shown this once; absent when the request is repeated, since only its hash is kept.</param>
/// <param name="Lines">The line that says so.</param>
/// <param name="EntryId">Its entry.</param>
public sealed record KeyIssuedAnswer(string Name, Role Role, IReadOnlyList<MovementKind>? Movements, string? Key, IReadOnlyList<long> Lines, long? EntryId);

/// <summary>The household's keys.</summary>
/// <param name="Keys">In the order they were issued, revoked ones too.</param>
public sealed record KeysAnswer(IReadOnlyList<KeyAnswer> Keys);

internal sealed class KeyRequestValidator : AbstractValidator<KeyRequest>
{
    public KeyRequestValidator()
    {
        RuleFor(r => r.Name).NotEmpty().WithMessage("`name` is needed: who or what holds the key.");
        RuleFor(r => r.Role).NotNull().WithMessage("`role` is needed: keeper, member, script or viewer.");
    }
}

internal static class KeyEndpoints
{
    public static void MapKeys(this IEndpointRouteBuilder api)
    {
        api.MapPost("/keys", async (HttpContext http, Caller caller, Body<KeyRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var key = KeyRing.NewKey();
                var hash = KeyRing.Hash(key);
                var (entry, _) = await desk.WriteAsync(http, new IssueKey(sent.Name!, sent.Role!.Value, sent.Movements ?? [], hash), "key", sent).ConfigureAwait(false);
                var issued = entry.Key!;
                return TypedResults.Created(
                    $"/api/keys/{Uri.EscapeDataString(issued.Name)}",
                    new KeyIssuedAnswer(issued.Name, issued.Role, KeyAnswer.Of(issued).Movements, issued.Hash == hash ? key : null, entry.Lines, entry.Id));
            })
            .Accepts<KeyRequest>("application/json")
            .Produces<KeyIssuedAnswer>(StatusCodes.Status201Created)
            .RefusesWrites()
            .WithTags("Keys")
            .WithSummary("Issue a key; it is shown this once")
            .WithDescription("Roles: keeper (everything), member (movements and counts), script (the movements its key lists), viewer (reading). Only a hash of the key is kept.")
            .WithExample(
                """{"name": "payday script", "role": "script", "movements": ["fill"]}""",
                """{"name": "payday script", "role": "script", "movements": ["fill"], "key": "ce_x3Jq0c5xk2mU1h7b9Wn4s8tVpQ6yZ0aLrE2dFgHiJkM", "lines": [12], "entryId": 12}""");

        api.MapGet("/keys", async (HttpContext http, Caller caller, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(new KeysAnswer([.. book.Keys.Values.OrderBy(k => k.Line).Select(KeyAnswer.Of)]));
            })
            .Produces<KeysAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden)
            .WithTags("Keys")
            .WithSummary("The household's keys, revoked ones too, without the keys themselves")
            .WithExample(null, """{"keys": [{"name": "keeper", "role": "keeper", "revoked": false}, {"name": "payday script", "role": "script", "movements": ["fill"], "revoked": false}]}""");

        api.MapDelete("/keys/{name}", async (HttpContext http, Caller caller, string name, WriteDesk desk) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                name = Reads.LastStep(http, name);
                await desk.WriteAsync(http, new RevokeKey(name), $"revoke {name}", name).ConfigureAwait(false);
                return TypedResults.NoContent();
            })
            .Produces(StatusCodes.Status204NoContent)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithTags("Keys")
            .WithSummary("Revoke a key; the lines it wrote keep its name")
            .WithDescription("The last keeper's key can't be revoked. A key that is revoked already stays so.")
            .WithExample(null, null);
    }
}
