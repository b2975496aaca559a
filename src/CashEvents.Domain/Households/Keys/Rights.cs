namespace CashEvents.Domain.Households;

/// <summary>
/// Which lines a key may write. Asked of each line when it is decided, so that it does not matter by which address or
/// command it came.
/// </summary>
public static class Rights
{
    /// <summary>Refuses an entry in which a line is not for this key.</summary>
    /// <param name="key">The key that asks.</param>
    /// <param name="entry">All lines of one command.</param>
    /// <exception cref="RefusalException">One of them is not for it.</exception>
    public static void MustBeAllowed(this Key key, IReadOnlyList<IBookEvent> entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        foreach (var line in entry)
        {
            if (Needed(line, entry) is not { } kinds)
            {
                key.MustKeep();
                continue;
            }

            foreach (var kind in kinds)
            {
                key.MustBeAllowed(kind);
            }
        }
    }

    /// <summary>Refuses a key that may not write a movement of a kind.</summary>
    /// <exception cref="RefusalException">It may not.</exception>
    public static void MustBeAllowed(this Key key, MovementKind kind)
    {
        ArgumentNullException.ThrowIfNull(key);
        if (!key.MayWrite(kind))
        {
            throw key.Role == Role.Script
                ? NotAllowed($"The key '{key.Name}' may write {string.Join(", ", key.Movements.Select(Word))}, not "
                    + $"{Word(kind)}: ask a keeper for a key that lists it.")
                : ReadsOnly(key);
        }
    }

    /// <summary>Refuses a key that is not a keeper's.</summary>
    /// <exception cref="RefusalException">It is not.</exception>
    public static void MustKeep(this Key key)
    {
        ArgumentNullException.ThrowIfNull(key);
        if (key.Role != Role.Keeper)
        {
            throw NotAllowed($"The key '{key.Name}' has the role {Word(key.Role)}, and this needs a keeper's key.");
        }
    }

    /// <summary>Refuses a key that may only read.</summary>
    /// <exception cref="RefusalException">It may.</exception>
    public static void MustWrite(this Key key)
    {
        ArgumentNullException.ThrowIfNull(key);
        if (key.Role == Role.Viewer)
        {
            throw ReadsOnly(key);
        }
    }

    /// <summary>The kinds that a key has to list for a line; null where only a keeper may write it.</summary>
    /// <param name="line">The line.</param>
    /// <param name="entry">The entry that it stands in.</param>
    internal static IReadOnlyList<MovementKind>? Needed(IBookEvent line, IReadOnlyList<IBookEvent> entry) => line switch
    {
        // What an amendment undoes is gone as if it were written: only a key that writes such lines may.
        IMovement { Undoes: true, Corrects: { } undone } e => entry.Any(other =>
            other is IReplacement { Corrects: { } corrects } && corrects.Line == undone.Line)
            ? [MovementKind.Amendment, e.Kind] : [MovementKind.Reversal],
        IMovement { Corrects: not null } e => [MovementKind.Amendment, e.Kind],
        { Listed: { } kind } => [kind],
        _ => null,
    };

    private static RefusalException ReadsOnly(Key key) =>
        NotAllowed($"The key '{key.Name}' has the role {Word(key.Role)}, which may read only.");

    private static RefusalException NotAllowed(string detail) =>
        new(new Refusal(RefusalSort.NotAllowed, "not-allowed", detail));

    private static string Word<T>(T value) where T : struct, Enum => value.ToString().ToLowerInvariant();
}
