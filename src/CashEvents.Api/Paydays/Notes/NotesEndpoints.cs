namespace CashEvents.Api.Paydays;

/// <summary>In which notes and coins a compartment would have its money; what is left out is wished no more.</summary>
/// <param name="Prefer">Values of which it is to have as much as can be, such as <c>[10, 5]</c>.</param>
/// <param name="Avoid">Values of which it is to have none, where that can be helped.</param>
/// <param name="AtLeast">At least so many of each value, as <c>{"5": 4}</c>.</param>
public sealed record NoteWishesRequest(IReadOnlyList<decimal>? Prefer, IReadOnlyList<decimal>? Avoid,
    IReadOnlyDictionary<string, long>? AtLeast)
{
    /// <summary>What it asks the book to write.</summary>
    internal WishNotes ToCommand(string compartment) => new(compartment, Prefer, Avoid, AtLeast);
}

/// <summary>The notes and coins that are known to be in a compartment.</summary>
/// <param name="CountId">The count from which they are known.</param>
/// <param name="CountedOn">Its day.</param>
/// <param name="Pieces">What it found, with the exchanges since; largest first.</param>
/// <param name="Total">What they are worth in total.</param>
public sealed record KnownNotesAnswer(long CountId, DateOnly CountedOn, IReadOnlyList<PiecesAnswer> Pieces,
    decimal Total);

/// <summary>The notes of a compartment: those it would have, and those it is known to have.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Prefer">Values preferred, largest first.</param>
/// <param name="Avoid">Values avoided, largest first.</param>
/// <param name="AtLeast">At least so many of these, largest first.</param>
public sealed record CompartmentNotesAnswer(string Compartment, string Label, IReadOnlyList<decimal> Prefer,
    IReadOnlyList<decimal> Avoid, IReadOnlyList<PiecesAnswer> AtLeast)
{
    /// <summary>What is there, while it is known.</summary>
    public KnownNotesAnswer? Known { get; init; }

    /// <summary>The line just written; absent when it is only read.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>Its entry.</summary>
    public long? EntryId { get; init; }

    internal static CompartmentNotesAnswer Of(Compartment c, NoteWishes wishes, KnownNotes? notes, Currency? currency)
    {
        decimal Say(Money money) => currency!.ToDecimal(money);
        return new CompartmentNotesAnswer(c.Id, c.Label, [.. wishes.Prefer.Select(Say)], [.. wishes.Avoid.Select(Say)],
            PiecesAnswer.Of(wishes.AtLeast, currency!))
        {
            Known = notes is { } known
                ? new KnownNotesAnswer(known.Count, known.CountedOn, PiecesAnswer.Of(known.Pieces, currency!),
                    Say(Denominations.Total(known.Pieces)))
                : null,
        };
    }
}

internal sealed class NotesEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/compartments/{id}/notes", async (HttpContext http, Caller caller, string id, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var compartment = book.CompartmentNamed(id);
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(CompartmentNotesAnswer.Of(compartment, book.NoteWishesOf(id), book.NotesOf(id),
                    book.Household?.Currency));
            })
            .Produces<CompartmentNotesAnswer>()
            .RefusesReads(StatusCodes.Status404NotFound)
            .WithSummary("The notes of a compartment: those it wishes for, and those it is known to have")
            .WithDescription("A count by denomination makes the notes known. They stay known through exchanges, "
                + "until other cash comes or goes: no other line says in which notes it did. `known` is absent "
                + "then, until the next count.")
            .WithParameter("id", "The compartment's id.", "ferry-fares")
            .WithExample(null, """
                {"compartment": "ferry-fares", "label": "Ferry fares", "prefer": [10.00, 5.00], "avoid": [50.00], "atLeast": [{"value": 5.00, "count": 4}],
                 "known": {"countId": 61, "countedOn": "2026-11-03", "pieces": [{"value": 20.00, "count": 3}, {"value": 2.00, "count": 1}, {"value": 0.50, "count": 2}], "total": 63.00}}
                """);

        api.MapPut("/compartments/{id}/notes",
            async (HttpContext http, Caller caller, string id, Body<NoteWishesRequest> body, WriteDesk desk,
                BookReader books) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    sent.ToCommand(id), $"notes {id}", sent)
                    .ConfigureAwait(false);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var (wishes, known) = entry.Notes is { } then
                    ? (then.Wishes, then.Known)
                    : (book.NoteWishesOf(id), book.NotesOf(id));
                return TypedResults.Ok(CompartmentNotesAnswer.Of(book.CompartmentNamed(id), wishes, known,
                    currency) with
                { Lines = entry.Lines, EntryId = entry.Id });
            })
            .Accepts<NoteWishesRequest>("application/json")
            .Produces<CompartmentNotesAnswer>()
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Say which notes a compartment wishes for: prefer, avoid, at least so many")
            .WithDescription("It replaces all wishes set before. Packings and draw slips keep to it where they "
                + "can, and name what they can't.")
            .WithParameter("id", "The compartment's id.", "ferry-fares")
            .WithExample(
                """{"prefer": [10, 5], "avoid": [50], "atLeast": {"5": 4}}""",
                """{"compartment": "ferry-fares", "label": "Ferry fares", "prefer": [10.00, 5.00], "avoid": [50.00], "atLeast": [{"value": 5.00, "count": 4}], "lines": [63], "entryId": 63}""");
    }
}

/// <summary>A line of the kind <c>noteWishes</c>.</summary>
public sealed record NoteWishesLine : LineAnswer, ILineOf<NotesWished>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>The values that a compartment prefers.</summary>
    public required IReadOnlyList<decimal> Prefer { get; init; }

    /// <summary>The values that it avoids.</summary>
    public required IReadOnlyList<decimal> Avoid { get; init; }

    /// <summary>The values of which it needs at least so many.</summary>
    public required IReadOnlyList<PiecesAnswer> AtLeast { get; init; }

    static LineAnswer ILineOf<NotesWished>.Of(NotesWished e, LineTelling told) =>
        new NoteWishesLine
        {
            Compartment = e.Compartment,
            Prefer = [.. e.Prefer.Select(told.Say)],
            Avoid = [.. e.Avoid.Select(told.Say)],
            AtLeast = PiecesAnswer.Of(e.AtLeast, told.Currency)
        };
}
