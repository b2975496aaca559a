namespace CashEvents.Domain.Months;

/// <summary>How rows of a sheet are named in sentences.</summary>
internal static class SheetWords
{
    private const int Most = 10;

    /// <summary>"Row 3", "Rows 3, 5 and 9", at most ten of them.</summary>
    public static string Rows(IEnumerable<int> rows)
    {
        var all = rows.ToList();
        return all.Count == 1 ? $"Row {all[0]}" : $"Rows {Listed(all.Select(r => $"{r}").ToList())}";
    }

    /// <summary>"'soon' in row 3, 'later' in row 5".</summary>
    public static string Cells(IEnumerable<(int Row, string Text)> cells) =>
        Listed(cells.Select(c => $"'{c.Text}' in row {c.Row}").ToList());

    private static string Listed(List<string> all) =>
        all.Count > Most ? $"{string.Join(", ", all.Take(Most))} and {all.Count - Most} more"
        : all.Count < 2 ? string.Concat(all)
        : $"{string.Join(", ", all.SkipLast(1))} and {all[^1]}";
}
