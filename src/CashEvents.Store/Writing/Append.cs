using System.Text.Json;

namespace CashEvents.Store.Writing;

/// <summary>A line that is to be appended to a book.</summary>
/// <param name="Household">Whose book.</param>
/// <param name="Number">Its line number.</param>
/// <param name="Event">What it says.</param>
/// <param name="EntryId">Number of the first line of its entry.</param>
/// <param name="By">Name of the key that writes it.</param>
/// <param name="RecordedAt">The instant (UTC), in whole microseconds.</param>
/// <param name="Content">What it says, as JSON in UTF-8.</param>
/// <param name="Hash">The hash that it carries.</param>
internal sealed record AppendedLine(string Household, long Number, IBookEvent Event, long EntryId, string By,
    DateTimeOffset RecordedAt, byte[] Content, string Hash);

/// <summary>What one commit adds to one book.</summary>
/// <param name="Household">Whose book.</param>
/// <param name="Known">The book as it was known when the lines were decided: it must stand there still.</param>
/// <param name="Page">The book as the lines leave it.</param>
/// <param name="Lines">The lines, in order; at least one.</param>
/// <param name="Answers">Answers to keep, by idempotency key.</param>
internal sealed record Append(string Household, BookPage Known, BookPage Page, IReadOnlyList<AppendedLine> Lines,
    IReadOnlyDictionary<string, Answer> Answers)
{
    /// <summary>What was decided, with the lines' hashes.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="known">The book that it was decided on.</param>
    /// <param name="hash">The hash of that book's last line.</param>
    /// <param name="decisions">What was decided.</param>
    /// <param name="now">The instant that the lines are stamped with.</param>
    public static Append Of(string household, BookPage known, string hash, Decisions decisions, DateTimeOffset now)
    {
        var lines = new List<AppendedLine>(decisions.Lines.Count);
        foreach (var (line, entryId, by) in decisions.Lines)
        {
            var number = known.Book.Line + lines.Count + 1;
            var content = JsonSerializer.SerializeToUtf8Bytes(line, line.GetType(), BookJson.Options);
            hash = LineHash.Of(hash, household, number, entryId, LineKinds.Of(line), now, by, content);
            lines.Add(new AppendedLine(household, number, line, entryId, by, now, content, hash));
        }

        var page = new BookPage(decisions.Book, now) { Hash = hash, Made = known.Made, Rebuilds = known.Rebuilds };
        return new Append(household, known, page, lines, decisions.NewAnswers);
    }
}
