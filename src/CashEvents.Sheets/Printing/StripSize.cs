using System.Globalization;

namespace CashEvents.Sheets.Printing;

/// <summary>A size of strips to cut out. They stand upright: the note's length is their height.</summary>
/// <param name="Id">As an address names it: <c>note-20</c>, <c>a6</c>.</param>
/// <param name="Means">As people call it.</param>
/// <param name="Width">Millimetres.</param>
/// <param name="Height">Millimetres.</param>
/// <param name="Binding">Millimetres that are left free at the left, for a punch where there is room.</param>
public sealed record StripSize(string Id, string Means, decimal Width, decimal Height, decimal Binding = 3)
{
    /// <summary>Millimetres at the top, the foot and the right.</summary>
    public const decimal Margin = 3;

    /// <summary>
    /// Millimetres of what stands at its head, of the columns' heads, and of what stands at its foot.
    /// </summary>
    public const decimal Head = 14, ColumnHeads = 5, Foot = 9;

    /// <summary>Millimetres of a row, high enough to write in by hand.</summary>
    public const decimal Row = 7;

    private const decimal Punched = 12;

    /// <summary>The size that is taken where none is asked for.</summary>
    /// <remarks>Common practice: a wallet's insert, no longer than a note of fifty euro.</remarks>
    public static StripSize Insert { get; } = new("insert", "wallet insert", 90, 140);

    // Half and quarter sheets, a little smaller than ISO 216 has them, so that they fit a sleeve, and a printer that
    // can't print to the edge.
    private static readonly StripSize[] _sheets =
        [Insert, new("a6", "A6", 100, 141, Punched), new("a5", "A5", 142, 197, Punched)];

    /// <summary>The sizes there are for a currency: those of its notes, and of sheets.</summary>
    public static IReadOnlyList<StripSize> All(Currency? currency) =>
    [
        .. NoteSize.Of(currency).Select(note => new StripSize(
            string.Create(CultureInfo.InvariantCulture, $"note-{note.Face}"),
            string.Create(CultureInfo.InvariantCulture, $"as a {note.Face}"), note.Height, note.Length)),
        .. _sheets,
    ];

    /// <summary>The size of that id; null where there is none.</summary>
    public static StripSize? Find(string id, Currency? currency) => All(currency).FirstOrDefault(size => size.Id == id);

    /// <summary>Ruled rows between its head and its foot.</summary>
    public int Rulings => (int)((Height - (2 * Margin) - Head - ColumnHeads - Foot) / Row);

    /// <summary>Millimetres across, between its margins.</summary>
    public decimal Inside => Width - Binding - Margin;

    /// <summary>As it is told: <c>72 by 133 mm, as a 20</c>.</summary>
    public string InWords => string.Create(CultureInfo.InvariantCulture, $"{Width} by {Height} mm, {Means}");

    /// <summary>
    /// The style of a page of strips. Two half sheets stand side by side on paper that lies; margins are what common
    /// printers leave.
    /// </summary>
    public string Style => string.Create(CultureInfo.InvariantCulture,
        $$"""
        @page { margin: 5mm 5mm 8mm;{{(Width > 140 ? " size: landscape;" : "")}} }
        body { max-width: none; }
        .strip { width: {{Width}}mm; min-height: {{Height}}mm; padding: {{Margin}}mm {{Margin}}mm {{Margin}}mm {{Binding}}mm; }
        .strip header { height: {{Head}}mm; }
        .strip footer { height: {{Foot}}mm; }
        .strip th { height: {{ColumnHeads}}mm; }
        .strip td { height: calc({{Row}}mm * var(--rulings, 1)); }
        """);
}
