using System.Collections.Immutable;

namespace CashEvents.Domain.Custody;

/// <summary>Where wallets lie, as the household calls it.</summary>
/// <param name="Id">Its id, such as <c>kitchen-safe</c>.</param>
/// <param name="Label">As people call it.</param>
/// <param name="AtHome">Whether it is at home, so that what lies there counts as cash at home.</param>
/// <param name="Line">The line that set it last.</param>
public sealed record Place(string Id, string Label, bool AtHome, long Line);

/// <summary>Line: a place is named, with what lies in it; in the stead of what was said of it before.</summary>
/// <param name="Place">Its id.</param>
/// <param name="Label">As people call it.</param>
/// <param name="AtHome">Whether it is at home.</param>
/// <param name="Wallets">Ids of the wallets that lie in it, and in no other place from then on.</param>
/// <param name="Since">The day on which it was said.</param>
[LineKind("place")]
public sealed record PlaceSet(string Place, string Label, bool AtHome, ImmutableArray<string> Wallets, DateOnly Since)
    : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => CustodyInBook.Places.Change(
        book with
        {
            Wallets = book.Wallets.SetItems(book.Wallets.Values
                .Select(w => Wallets.Contains(w.Id)
                    ? w.LiesIn?.Place == Place ? w : w with { LiesIn = new LyingIn(Place, Since) }
                    : w.LiesIn?.Place == Place ? w with { LiesIn = null } : w)
                .Select(w => KeyValuePair.Create(w.Id, w))),
        },
        places => places.SetItem(Place, new Place(Place, Label, AtHome, book.Line + 1)));

    /// <inheritdoc />
    public string Mend(long line) => $"set the place anew with {Act.SetPlace.Way(Place)}";
}

/// <summary>Line: a place in which nothing lies is given up.</summary>
/// <param name="Place">Its id.</param>
[LineKind("placeRemoved")]
public sealed record PlaceRemoved(string Place) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => CustodyInBook.Places.Change(book, places => places.Remove(Place));

    /// <inheritdoc />
    public string Mend(long line) => $"name the place again with {Act.SetPlace.Way(Place)}";
}

/// <summary>Names a place, whole. A wallet lies in one place: named here, it lies in no other any more.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Label">As people call it.</param>
/// <param name="AtHome">Whether it is at home.</param>
/// <param name="Wallets">Ids of the wallets that lie in it; none empties it.</param>
public sealed record SetPlace(string Id, string Label, bool AtHome, IReadOnlyList<string> Wallets) : ICommand
{
    /// <summary>The most that a household has.</summary>
    public const int Most = 50;

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var id = Slug.Named(Id, "id");
        var label = Words.Name(Label, "label");
        var wallets = Wallets.Select((wallet, i) => book.WalletInUse(wallet, $"wallets[{i}]").Id).ToImmutableArray();
        if (wallets.Select((w, i) => (w, i))
            .FirstOrDefault(w => wallets.IndexOf(w.w) < w.i) is { w: { } twice, i: var second })
        {
            throw Refusal.Unfit($"wallets[{second}]", "wallet-twice", $"'{twice}' is in the list twice: name it once.");
        }

        if (!book.Places.TryGetValue(id, out var place) && book.Places.Count == Most)
        {
            throw Refusal.Conflict("too-many",
                $"A household has at most {Most} places: remove one that nothing lies in with {Act.RemovePlace.Way()}, "
                    + $"or set it anew.");
        }

        var lying = book.Wallets.Values.Where(w => w.LiesIn?.Place == id).Select(w => w.Id).ToHashSet();
        return place is not null && place.Label == label && place.AtHome == AtHome && lying.SetEquals(wallets)
            ? []
            : [new PlaceSet(id, label, AtHome, wallets, today)];
    }
}

/// <summary>Gives a place up in which nothing lies any more.</summary>
/// <param name="Id">Its id.</param>
public sealed record RemovePlace(string Id) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        if (!book.Places.ContainsKey(Id))
        {
            throw Refusal.NotFound("place-unknown",
                $"There is no place '{Id}'. {Act.TellCustody.Way()} tells what lies where.",
                NearNames.Of(Id, book.Places.Keys));
        }

        var lying = book.Wallets.Values.Where(w => w.LiesIn?.Place == Id).OrderBy(w => w.Line).Select(w => w.Id)
            .ToList();
        return lying.Count == 0 ? [new PlaceRemoved(Id)]
            : throw Refusal.Conflict("place-in-use",
                $"{string.Join(", ", lying)} {(lying.Count == 1 ? "lies" : "lie")} in '{Id}': name another place for "
                    + $"{(lying.Count == 1 ? "it" : "them")} with {Act.SetPlace.Way()}, or say with "
                    + $"{Act.SetPlace.Way(Id)} and \"wallets\": [] that nothing lies there any more, then remove it.");
    }
}
