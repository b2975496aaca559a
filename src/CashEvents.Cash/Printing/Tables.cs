using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;
using Microsoft.Kiota.Abstractions;
using Spectre.Console;

namespace CashEvents.Cash.Printing;

/// <summary>Writes tables: for people, or as CSV.</summary>
internal static class Tables
{
    // Wide enough that nothing wraps where another program reads.
    private const int Unbounded = 4000;

    public static void Write(Session session, IReadOnlyList<Sheet> sheets)
    {
        if (session.Form == OutputForm.Csv)
        {
            WriteCsv(session.Around.Out, sheets.First(sheet => sheet.Columns.Count > 0));
            return;
        }

        foreach (var sheet in sheets)
            WriteTable(session, sheet);
    }

    private static void WriteTable(Session session, Sheet sheet)
    {
        var console = Console(session.Around);
        if (sheet.Heading is { } heading)
            session.Around.Out.WriteLine(heading);

        var rows = sheet.Rows.ToList();
        if (rows.Count > 0)
        {
            var table = new Table { Border = session.Around.IsTerminal ? TableBorder.Simple : TableBorder.None };
            for (var i = 0; i < sheet.Columns.Count; i++)
            {
                var column = new TableColumn(new Text(sheet.Columns[i]));
                var isOfNumbers = rows.Any(row => row[i] is decimal or long or int);
                table.AddColumn(isOfNumbers ? column.RightAligned().NoWrap() : column);
            }

            foreach (var row in rows)
                table.AddRow(row.Select(cell => new Text(Cell(cell, session.Figures.Write))));
            WriteLines(session.Around, console, table);
        }

        foreach (var note in sheet.Notes.OfType<string>())
            session.Around.Out.WriteLine(note);
    }

    // A table for another program ends each line where its text ends.
    private static void WriteLines(Surroundings around, IAnsiConsole console, Table table)
    {
        if (around.IsTerminal)
        {
            console.Write(table);
            return;
        }

        using var text = new StringWriter();
        Console(around with { Out = text }).Write(table);
        foreach (var line in text.ToString().TrimEnd().Split('\n'))
            around.Out.WriteLine(line.TrimEnd());
    }

    private static IAnsiConsole Console(Surroundings around)
    {
        var console = AnsiConsole.Create(new AnsiConsoleSettings
        {
            Ansi = around.IsTerminal ? AnsiSupport.Detect : AnsiSupport.No,
            ColorSystem = around.IsTerminal && string.IsNullOrEmpty(around.Variable("NO_COLOR"))
                ? ColorSystemSupport.Detect : ColorSystemSupport.NoColors,
            Interactive = InteractionSupport.No,
            Out = new AnsiConsoleOutput(around.Out),
        });
        if (!around.IsTerminal)
            console.Profile.Width = Unbounded;
        return console;
    }

    private static void WriteCsv(TextWriter to, Sheet sheet)
    {
        using var csv = new CsvWriter(to, new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            NewLine = "\r\n",
        }, leaveOpen: true);
        foreach (var row in sheet.Rows.Prepend(sheet.Columns))
        {
            foreach (var cell in row)
                csv.WriteField(Inert(cell, Cell(cell, amount => amount.ToString(CultureInfo.InvariantCulture))));
            csv.NextRecord();
        }
    }

    private static string Cell(object? cell, Func<decimal, string> amount) => cell switch
    {
        null => "",
        decimal value => amount(value),
        Date date => date.ToString(),
        Enum word => Word(word),
        IFormattable number => number.ToString(null, CultureInfo.InvariantCulture),
        _ => cell.ToString()!,
    };

    // Words that a spreadsheet would run as a formula are kept as words by an apostrophe, as in the server's CSV.
    private static string Inert(object? cell, string text) =>
        cell is string && text.TrimStart(' ', '\t', '"', '\'') is [var first, ..]
            && "=+-@＝＋－＠".Contains(first, StringComparison.Ordinal) ? "'" + text : text;

    private static string Word(Enum word)
    {
        var name = word.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }
}
