namespace CashEvents.Cash.Printing;

/// <summary>In which form an answer is wanted.</summary>
internal enum OutputForm
{
    /// <summary>For people.</summary>
    Table,

    /// <summary>For programs: the server's answer.</summary>
    Json,

    /// <summary>For spreadsheets.</summary>
    Csv,
}

/// <summary>A table, with what is said above and below it.</summary>
/// <param name="Columns">Their names.</param>
/// <param name="Rows">Texts, amounts, dates and numbers; null where there is nothing.</param>
internal sealed record Sheet(IReadOnlyList<string> Columns, IEnumerable<IReadOnlyList<object?>> Rows)
{
    /// <summary>Said above it.</summary>
    public string? Heading { get; init; }

    /// <summary>Said below it.</summary>
    public IReadOnlyList<string?> Notes { get; init; } = [];

    /// <summary>Words alone.</summary>
    public static Sheet Words(params string?[] notes) => new([], []) { Notes = notes };
}
