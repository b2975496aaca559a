namespace CashEvents.Domain.Amounts;

/// <summary>How large a note is.</summary>
/// <param name="Face">Its face value, in major units.</param>
/// <param name="Length">Millimetres.</param>
/// <param name="Height">Millimetres.</param>
/// <remarks>
/// Euro: Decision ECB/2003/4 (EUR-Lex, 25088), article 1; of the second series 100 and 200 are 77 mm high (from
/// memory).
/// The others are from memory of what their issuers publish: Bank of England (polymer), Bureau of Engraving and
/// Printing, Swiss National Bank (ninth series), Bank of Canada, Reserve Bank of Australia, Bank of Japan.
/// </remarks>
public sealed record NoteSize(int Face, int Length, int Height)
{
    private static readonly Dictionary<string, NoteSize[]> _notes = new(StringComparer.Ordinal)
    {
        ["EUR"] = [new(5, 120, 62), new(10, 127, 67), new(20, 133, 72), new(50, 140, 77), new(100, 147, 77),
            new(200, 153, 77)],
        ["GBP"] = [new(5, 125, 65), new(10, 132, 69), new(20, 139, 73), new(50, 146, 77)],
        ["USD"] = [.. new[] { 1, 5, 10, 20, 50, 100 }.Select(face => new NoteSize(face, 156, 66))],
        ["CHF"] = [new(10, 123, 70), new(20, 130, 70), new(50, 137, 70), new(100, 144, 70), new(200, 151, 70),
            new(1000, 158, 70)],
        ["CAD"] = [.. new[] { 5, 10, 20, 50, 100 }.Select(face => new NoteSize(face, 152, 70))],
        ["AUD"] = [new(5, 130, 65), new(10, 137, 65), new(20, 144, 65), new(50, 151, 65), new(100, 158, 65)],
        ["JPY"] = [new(1000, 150, 76), new(2000, 154, 76), new(5000, 156, 76), new(10_000, 160, 76)],
    };

    /// <summary>The sizes of a currency's notes, smallest first; empty where they are not listed here.</summary>
    public static IReadOnlyList<NoteSize> Of(Currency? currency) => _notes.GetValueOrDefault(currency?.Code ?? "", []);
}
