using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Households;

/// <summary>What the holder of a key may do.</summary>
public enum Role
{
    /// <summary>Everything.</summary>
    Keeper,

    /// <summary>Movements, counts and their settlement; reading.</summary>
    Member,

    /// <summary>The movements its key lists; reading.</summary>
    Script,

    /// <summary>Reading.</summary>
    Viewer,
}

/// <summary>A named key to the household's book. The key itself is never kept, only its hash.</summary>
/// <param name="Name">Who or what holds it; stands beside each line it wrote, so a name is used once.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">The kinds a script may write; empty for other roles.</param>
/// <param name="Hash">SHA-256 of the key, lower-case hexadecimal.</param>
/// <param name="Line">The line that issued it.</param>
public sealed record Key(string Name, Role Role, ImmutableArray<MovementKind> Movements, string Hash, long Line)
{
    /// <summary>No longer accepted.</summary>
    public bool Revoked { get; init; }

    /// <summary>The instant from which it is no longer accepted; null when it does not expire.</summary>
    public DateTimeOffset? Expires { get; init; }

    /// <summary>Why it is not accepted at an instant; null while it is.</summary>
    public Refusal? OverAt(DateTimeOffset now) => Revoked ? Refusal.Stranger
        : Expires is { } expired && expired <= now ? new Refusal(RefusalSort.Stranger, "key-expired",
            string.Create(CultureInfo.InvariantCulture,
                $"The key '{Name}' expired at {expired.UtcDateTime:yyyy-MM-dd HH:mm} UTC: ask the keeper for another."))
        : null;

    /// <summary>Whether it is this key, by its hash, and still accepted.</summary>
    public bool Opens(string hash) => Hash == hash && !Revoked;

    /// <summary>Whether its holder may write a movement of a kind.</summary>
    public bool MayWrite(MovementKind kind) => Role switch
    {
        Role.Keeper or Role.Member => true,
        Role.Script => Movements.Contains(kind),
        _ => false,
    };
}

/// <summary>Line: a key is issued.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">The kinds a script may write.</param>
/// <param name="Hash">SHA-256 of the key, lower-case hexadecimal.</param>
[LineKind("keyIssued")]
public sealed record KeyIssued(string Name, Role Role, ImmutableArray<MovementKind> Movements, string Hash) : IBookEvent
{
    /// <summary>The instant from which it is no longer accepted; null when it does not expire.</summary>
    public DateTimeOffset? Expires { get; init; }

    /// <inheritdoc />
    IBookEvent IBookEvent.GoesAlong => this with { Hash = "" };

    internal Key At(long line) => new(Name, Role, Movements, Hash, line) { Expires = Expires };

    /// <inheritdoc />
    public Book WrittenIn(Book book) => HouseholdsInBook.Keys.Change(book, keys => keys.Add(Name, At(book.Line + 1)));

    /// <inheritdoc />
    public string Mend(long line) => $"revoke the key with {Act.RevokeKey.Way(Name)}";
}

/// <summary>Line: a key is no longer accepted. The lines it wrote keep its name.</summary>
/// <param name="Name">Its name.</param>
[LineKind("keyRevoked")]
public sealed record KeyRevoked(string Name) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        HouseholdsInBook.Keys.Change(book, keys => keys.SetItem(Name, keys[Name] with { Revoked = true }));

    /// <inheritdoc />
    public string Mend(long line) => $"issue another key with {Act.IssueKey.Way()}";
}

/// <summary>Issues a key.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">The kinds a script may write; none for other roles.</param>
/// <param name="Hash">SHA-256 of the key, lower-case hexadecimal.</param>
public sealed record IssueKey(string Name, Role Role, ImmutableArray<MovementKind> Movements, string Hash) : ICommand
{
    private static readonly DateOnly LatestDay = new(9998, 12, 31);

    /// <summary>The household's date on which it is accepted for the last time; null when none was said.</summary>
    public DateOnly? LastDay { get; init; }

    /// <summary>The instant from which it is no longer accepted; null when none was said.</summary>
    public DateTimeOffset? Expires { get; init; }

    /// <summary>The instant at which it is asked for, before which it can't expire.</summary>
    public DateTimeOffset AskedAt { get; init; }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var name = KeyName.New(book, Name);
        if (Role == Role.Script && Movements.IsDefaultOrEmpty)
        {
            throw Refusal.Unfit("movements", "movements-missing",
                "A script's key lists the movements it may write, such as [\"fill\", \"sweep\"].");
        }

        if (Role != Role.Script && !Movements.IsDefaultOrEmpty)
        {
            throw Refusal.Unfit("movements", "movements-not-for-role",
                "Only a script's key lists movements: leave `movements` out, or make the role `script`.");
        }

        return [new KeyIssued(name, Role, Movements.IsDefaultOrEmpty ? [] : [.. Movements.Distinct().Order()],
            Hash) { Expires = ExpiresAt(book, today) }];
    }

    private DateTimeOffset? ExpiresAt(Book book, DateOnly today)
    {
        if (LastDay < today || Expires <= AskedAt)
        {
            throw Refusal.Unfit("expires", "expires-in-past",
                "`expires` is past, and the key would never be accepted: write a day from today on, or an instant to "
                    + "come.");
        }

        return LastDay is not { } day ? Expires
            : day <= LatestDay ? book.Household!.InstantOf(day.AddDays(1), TimeOnly.MinValue)
            : throw Refusal.Unfit("expires", "expires-too-late",
                $"`expires` is at most {LatestDay:O}: leave it out for a key that does not expire.");
    }
}

/// <summary>Revokes a key.</summary>
/// <param name="Name">Its name.</param>
public sealed record RevokeKey(string Name) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        if (!book.Keys.TryGetValue(Name, out var key))
        {
            throw Refusal.NotFound("key-unknown", $"There is no key named '{Name}'.");
        }

        if (key.Revoked)
        {
            return [];
        }

        // A keeper's key that expires would leave the book without one some day.
        if (key is { Role: Role.Keeper, Expires: null }
            && book.Keys.Values.Count(k => k is { Role: Role.Keeper, Revoked: false, Expires: null }) == 1)
        {
            throw Refusal.Conflict("last-keeper",
                $"'{key.Name}' is the last keeper's key that does not expire, and without one nobody could keep the "
                    + $"book: issue another first.");
        }

        return [new KeyRevoked(key.Name)];
    }
}
