using FluentValidation;

namespace CashEvents.Api.Custody;

/// <summary>A place, described whole.</summary>
/// <param name="Label">As people call it.</param>
/// <param name="Wallets">Ids of the wallets that lie in it, and in no other place any more; an empty list when nothing
/// lies in it.</param>
/// <param name="AtHome">Whether it is at home, so that what lies there counts as cash at home; true if left
/// out.</param>
public sealed record PlaceRequest(string? Label, IReadOnlyList<string>? Wallets, bool? AtHome)
{
    /// <summary>What it asks the book to write.</summary>
    internal SetPlace ToCommand(string id) => new(id, Label!, AtHome ?? true, Wallets!);
}

/// <summary>What was written of a place.</summary>
/// <param name="Lines">The line that says so; none when it was set like this already.</param>
/// <param name="EntryId">Its entry.</param>
/// <param name="Place">Its id.</param>
public sealed record PlaceSetAnswer(IReadOnlyList<long> Lines, long? EntryId, string Place)
{
    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class PlaceRequestValidator : AbstractValidator<PlaceRequest>
{
    public PlaceRequestValidator()
    {
        RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what the place is called.");
        RuleFor(r => r.Wallets)
            .NotNull().WithMessage("`wallets` is needed: the ids of the wallets that lie there, such as "
                + "[\"oilskin-wallet\"]; [] when none does.")
            .Must(w => w!.All(id => !string.IsNullOrEmpty(id)))
            .WithMessage("`wallets` names wallets by their ids, such as [\"oilskin-wallet\"].");
    }
}

internal sealed class PlaceEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapPut("/places/{id}",
            async (HttpContext http, Caller caller, string id, Body<PlaceRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, _) = await desk.WriteAsync(http,
                    sent.ToCommand(id), $"place {id}", sent)
                    .ConfigureAwait(false);
                return TypedResults.Ok(new PlaceSetAnswer(entry.Lines, entry.Id, id)
                { Note = entry.Lines.IsEmpty ? "It is set like this already. Nothing was written." : null });
            })
            .Accepts<PlaceRequest>("application/json")
            .Produces<PlaceSetAnswer>()
            .RefusesWrites()
            .WithSummary("Name a place and list all wallets that lie in it")
            .WithDescription("A wallet lies in one place at a time. Named here, it no longer lies in another. "
                + "GET /api/custody tells what lies where.")
            .WithParameter("id", "The place's id: small letters and digits with hyphens between.", "kitchen-safe")
            .WithExample("""{"label": "Kitchen safe", "wallets": ["oilskin-wallet"]}""",
                """{"lines": [30], "entryId": 30, "place": "kitchen-safe"}""");

        api.MapDelete("/places/{id}", async (HttpContext http, Caller caller, string id, WriteDesk desk) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                id = Reads.LastStep(http, id);
                await desk.WriteAsync(http, new RemovePlace(id), $"remove place {id}", id).ConfigureAwait(false);
                return TypedResults.NoContent();
            })
            .Produces(StatusCodes.Status204NoContent)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Give up a place in which nothing lies")
            .WithDescription("Refused while a wallet lies in it. Name another place for the wallet first, or set "
                + "this one with an empty list.")
            .WithParameter("id", "The place's id: small letters and digits with hyphens between.", "kitchen-safe")
            .WithExample(null, null);
    }
}

/// <summary>A line of the kind <c>place</c>.</summary>
public sealed record PlaceLine : LineAnswer, ILineOf<PlaceSet>
{
    /// <summary>The place that is named.</summary>
    public required string Place { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    /// <summary>Whether that place is at home.</summary>
    public required bool AtHome { get; init; }

    /// <summary>The wallets that lie in that place.</summary>
    public required IReadOnlyList<string> Wallets { get; init; }

    /// <summary>The day since which they are said to.</summary>
    public required DateOnly Since { get; init; }

    static LineAnswer ILineOf<PlaceSet>.Of(PlaceSet e, LineTelling told) =>
        new PlaceLine { Place = e.Place, Label = e.Label, AtHome = e.AtHome, Wallets = e.Wallets, Since = e.Since };
}

/// <summary>A line of the kind <c>placeRemoved</c>.</summary>
public sealed record PlaceRemovedLine : LineAnswer, ILineOf<PlaceRemoved>
{
    /// <summary>The place that is named.</summary>
    public required string Place { get; init; }

    static LineAnswer ILineOf<PlaceRemoved>.Of(PlaceRemoved e, LineTelling told) =>
        new PlaceRemovedLine { Place = e.Place };
}
