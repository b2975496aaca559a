using System.Text.Json;

namespace CashEvents.Cash.Books;

/// <summary>Lines of the book as rows, whatever their kind.</summary>
internal static class LineWords
{
    /// <summary>What the columns are called.</summary>
    public static IReadOnlyList<string> Columns { get; } =
        ["line", "date", "kind", "by", "about", "amount", "description"];

    /// <summary>One line as a row.</summary>
    /// <param name="line">As the server answers it.</param>
    /// <param name="moved">Of a line that changes several compartments: whose share is told; null for its
    /// total.</param>
    public static IReadOnlyList<object?> Row(JsonElement line, string? moved) =>
    [
        line.GetProperty("line").GetInt64(), Text(line, "occurredOn") ?? Text(line, "recordedAt")?[..10],
        Text(line, "kind"), Text(line, "by"), About(line), Amount(line, moved), Words(line),
    ];

    /// <summary>Whether it moved money into or out of a compartment.</summary>
    public static bool Moves(JsonElement line, string compartment) =>
        Changes(line).Any(change => Text(change, "compartment") == compartment)
        || Text(line, "kind") is "fill" or "spend" or "refund" or "transfer" or "sweep" or "settlement" or "exchange";

    private static JsonElement.ArrayEnumerator Changes(JsonElement line) =>
        line.TryGetProperty("changes", out var changes) ? changes.EnumerateArray() : default;

    private static string? About(JsonElement line)
    {
        if (line.TryGetProperty("from", out var from) && line.TryGetProperty("to", out var to)
            && from.ValueKind == JsonValueKind.Object && to.ValueKind == JsonValueKind.Object)
        {
            return $"{Place(from)} to {Place(to)}";
        }

        var changed = string.Join(", ", Changes(line).Select(change => Text(change, "compartment")).Distinct());
        return Text(line, "compartment") is not null ? Place(line)
            : changed.Length > 0 ? changed : Text(line, "wallet") ?? Text(line, "name") ?? Text(line, "month");
    }

    private static string Place(JsonElement of) =>
        Text(of, "holding") == "bank" ? $"{Text(of, "compartment")} in the bank" : Text(of, "compartment")!;

    private static decimal? Amount(JsonElement line, string? moved)
    {
        var own = Changes(line).Where(change => Text(change, "compartment") == moved).ToList();
        return own.Count > 0
            ? own.Sum(change => change.GetProperty("change").GetDecimal())
            : Number(line, "amount") ?? Number(line, "difference");
    }

    private static string? Words(JsonElement line) => string.Join(' ', new[]
    {
        Text(line, "description") ?? Text(line, "reason"),
        Noted(line, "reverses", "undoes"), Noted(line, "amends", "in place of"), Noted(line, "reversedBy", "undone by"),
    }.OfType<string>());

    private static string? Noted(JsonElement line, string name, string words) =>
        line.TryGetProperty(name, out var other) ? $"({words} {other})" : null;

    private static string? Text(JsonElement of, string name) =>
        of.TryGetProperty(name, out var said) && said.ValueKind == JsonValueKind.String ? said.GetString() : null;

    private static decimal? Number(JsonElement of, string name) =>
        of.TryGetProperty(name, out var said) && said.ValueKind == JsonValueKind.Number ? said.GetDecimal() : null;
}
