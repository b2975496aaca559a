using System.Collections.Immutable;
using CashEvents.Domain.Books;
using CashEvents.Domain.FillRuns;
using CashEvents.Domain.Naming;

namespace CashEvents.Domain.Keys;

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
public sealed record KeyIssued(string Name, Role Role, ImmutableArray<MovementKind> Movements, string Hash) : IBookEvent;

/// <summary>Line: a key is no longer accepted. The lines it wrote keep its name.</summary>
/// <param name="Name">Its name.</param>
public sealed record KeyRevoked(string Name) : IBookEvent;

/// <summary>Issues a key.</summary>
/// <param name="Name">Who or what holds it.</param>
/// <param name="Role">What its holder may do.</param>
/// <param name="Movements">The kinds a script may write; none for other roles.</param>
/// <param name="Hash">SHA-256 of the key, lower-case hexadecimal.</param>
public sealed record IssueKey(string Name, Role Role, ImmutableArray<MovementKind> Movements, string Hash) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var name = Words.Name(Name, "name");
        if (book.Keys.ContainsKey(name))
        {
            throw Refusal.Conflict("key-name-taken", $"A key named '{name}' was issued before, and its name stands beside the lines it wrote: choose another name.", "name");
        }

        if (name == AutomaticFills.Writer)
        {
            throw Refusal.Unfit("name", "key-name-reserved", $"'{name}' stands beside the lines that the program writes by itself: choose another name.");
        }

        if (Role == Role.Script && Movements.IsDefaultOrEmpty)
        {
            throw Refusal.Unfit("movements", "movements-missing", "A script's key lists the movements it may write, such as [\"fill\", \"sweep\"].");
        }

        if (Role != Role.Script && !Movements.IsDefaultOrEmpty)
        {
            throw Refusal.Unfit("movements", "movements-not-for-role", "Only a script's key lists movements: leave `movements` out, or make the role `script`.");
        }

        return [new KeyIssued(name, Role, Movements.IsDefaultOrEmpty ? [] : [.. Movements.Distinct().Order()], Hash)];
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

        if (key.Role == Role.Keeper && book.Keys.Values.Count(k => k is { Role: Role.Keeper, Revoked: false }) == 1)
        {
            throw Refusal.Conflict("last-keeper", $"'{key.Name}' is the last keeper's key, and without one nobody could keep the book: issue another keeper's key first.");
        }

        return [new KeyRevoked(key.Name)];
    }
}
