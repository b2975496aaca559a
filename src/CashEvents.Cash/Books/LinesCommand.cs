using System.CommandLine;
using System.Text.Json;

namespace CashEvents.Cash.Books;

/// <summary>The lines of the book.</summary>
internal static class LinesCommand
{
    private const int UsualForPeople = 20;

    public static Command Make(Commands commands)
    {
        var moved = commands.Names.CompartmentOption("--moved", "Only what moved money of this compartment.");
        var about = commands.Names.CompartmentOption("--about", "Only lines about this compartment, counts too.");
        var kind = new Option<string?>("--kind") { Description = "Only this kind, such as spend.", HelpName = "kind" };
        var by = new Option<string?>("--by") { Description = "Only what this key wrote.", HelpName = "name" };
        var from = new Option<string?>("--from") { Description = "From this day on.", HelpName = "day" };
        var to = new Option<string?>("--to") { Description = "Up to this day.", HelpName = "day" };
        var last = new Option<int?>("--last")
        {
            Description = $"So many, counted from the end; {UsualForPeople} in a table, all for programs.",
            HelpName = "number",
        };
        return commands.Of("lines", "Show lines of the book: who wrote what, when.", async (session, asked) =>
        {
            var query = Query(("compartment", asked.GetValue(moved) ?? asked.GetValue(about)),
                ("kind", asked.GetValue(kind)), ("by", asked.GetValue(by)), ("from", Day(asked.GetValue(from))),
                ("to", Day(asked.GetValue(to))));
            var lines = await ReadAsync(session, query).ConfigureAwait(false);
            var wanted = lines.Where(line => asked.GetValue(moved) is not { } name || LineWords.Moves(line, name))
                .TakeLast(asked.GetValue(last)
                    ?? (session.Form == OutputForm.Table ? UsualForPeople : int.MaxValue)).ToList();
            if (session.Form == OutputForm.Json)
            {
                session.Say("", $"[{string.Join(',', wanted.Select(line => line.GetRawText()))}]");
                return;
            }

            session.Show(
            [
                new Sheet(LineWords.Columns, wanted.Select(line => LineWords.Row(line, asked.GetValue(moved))))
                {
                    Notes = [wanted.Count < lines.Count && session.Form == OutputForm.Table
                        ? $"{wanted.Count} of {lines.Count}." : wanted.Count == 0 ? "No such line." : null],
                },
            ]);
        }, moved, about, kind, by, from, to, last);
    }

    /// <summary>All lines that a query finds, page by page.</summary>
    public static async Task<List<JsonElement>> ReadAsync(Session session, string query)
    {
        var lines = new List<JsonElement>();
        for (var next = $"/api/lines?limit=1000{query}"; next is not null;)
        {
            var page = await session.JsonAsync(next).ConfigureAwait(false);
            lines.AddRange(page.GetProperty("lines").EnumerateArray());
            next = page.TryGetProperty("next", out var more) ? more.GetString() : null;
        }

        return lines;
    }

    private static string? Day(string? typed) => typed is null ? null : $"{Days.Read(typed)}";

    private static string Query(params IEnumerable<(string Name, string? Value)> asked) => string.Concat(
        asked.Where(one => one.Value is not null).Select(one => $"&{one.Name}={Uri.EscapeDataString(one.Value!)}"));
}
