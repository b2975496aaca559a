using System.Text.Json;

namespace CashEvents.Store.Rebuilds;

/// <summary>A field that does not say what the lines give.</summary>
/// <param name="Document">Where it stands: a table, or the page of the book.</param>
/// <param name="Key">Which of its rows; empty for the page.</param>
/// <param name="Field">Which field; the whole row where it is missing or should not be there.</param>
/// <param name="Kept">What it says, as JSON; null when there is no such row or field.</param>
/// <param name="Rebuilt">What the lines give, as JSON; null when there should be no such row or field.</param>
public sealed record Drift(string Document, string Key, string Field, string? Kept, string? Rebuilt)
{
    /// <summary>
    /// The drifts between a row as it is kept and as the lines give it; one of the two may be missing.
    /// </summary>
    internal static IEnumerable<Drift> OfRow(RebuiltTable table, string? kept, string? rebuilt)
    {
        using var there = JsonDocument.Parse(kept ?? "{}");
        using var made = JsonDocument.Parse(rebuilt ?? "{}");
        var named = (rebuilt is null ? there : made).RootElement;
        var key = string.Join('/', table.Columns.Take(table.Keys).Select(c => named.GetProperty(c.Name).ToString()));
        return kept is null || rebuilt is null
            ? [new Drift(table.Name, key, "*", kept, rebuilt)]
            : [.. Of(table.Name, key, "", there.RootElement, made.RootElement)];
    }

    /// <summary>The drifts between two JSON values, by the path of each field that differs.</summary>
    internal static List<Drift> Of(string document, string key, string path, JsonElement kept, JsonElement rebuilt)
    {
        if (JsonElement.DeepEquals(kept, rebuilt))
        {
            return [];
        }

        if (kept.ValueKind != JsonValueKind.Object || rebuilt.ValueKind != JsonValueKind.Object)
        {
            return [new Drift(document, key, path, kept.GetRawText(), rebuilt.GetRawText())];
        }

        var names = kept.EnumerateObject().Concat(rebuilt.EnumerateObject()).Select(p => p.Name).Distinct()
            .Order(StringComparer.Ordinal);
        return
        [
            .. names.SelectMany(name =>
            {
                var below = path.Length == 0 ? name : $"{path}.{name}";
                var (isKept, isMade) = (kept.TryGetProperty(name, out var there),
                    rebuilt.TryGetProperty(name, out var made));
                return isKept && isMade ? Of(document, key, below, there, made)
                    : [new Drift(document, key, below, isKept ? there.GetRawText() : null,
                        isMade ? made.GetRawText() : null)];
            }),
        ];
    }
}

/// <summary>How far a rebuild has come.</summary>
/// <param name="Lines">Lines taken in.</param>
/// <param name="Of">Lines in the book.</param>
public readonly record struct RebuildProgress(long Lines, long Of);

/// <summary>What a rebuild found and did.</summary>
/// <param name="Lines">The book's last line.</param>
/// <param name="Drifts">Fields that did not say what the lines give; of each table or thousand of lines only the first
/// thousand are told.</param>
/// <param name="Switched">Whether the tables were put right; false when there was nothing to put right.</param>
public sealed record RebuildFinding(long Lines, IReadOnlyList<Drift> Drifts, bool Switched);
