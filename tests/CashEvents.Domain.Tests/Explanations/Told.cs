using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>A book that some lines tell, with the explanations of its counts.</summary>
internal sealed record Told(Book Book, IReadOnlyList<BookLine> Lines)
{
    /// <summary>After the opening. A count expects what the book holds.</summary>
    public static Told Of(params IBookEvent[] lines) =>
        lines.Aggregate(new Told(Book.Empty, []).And(Opening), (told, line) => told.And([line]));

    /// <summary>With one more entry.</summary>
    public Told And(IReadOnlyList<IBookEvent> entry)
    {
        var (book, told) = (Book, Lines.ToList());
        foreach (var line in entry)
        {
            var said = line is CountTaken { InRound: null } c
                ? c with { Expected = book.BalanceOn(new Part(c.Compartment, c.Holding), c.OccurredOn) }
                : line;
            book = book.Apply(said);
            told.Add(new BookLine(book.Line, Book.Line + 1, DateTimeOffset.UnixEpoch, "keeper", said));
        }

        return new Told(book, [.. told.OrderBy(l => (l.Event as IDatedEvent)?.OccurredOn ?? DateOnly.MinValue)
            .ThenBy(l => l.Number)]);
    }

    /// <summary>The count of the ferry fares explained, or another.</summary>
    public ExplainedCount Explained(long? count = null, int limit = 20) =>
        ExplainedCount.Of(Book, count ?? Book.CashCount(Ferry)!.Line, Lines, Today, limit);

    /// <summary>The codes of all mistakes that are listed.</summary>
    public IEnumerable<string> Codes(long? count = null) =>
        Explained(count).Explanations.SelectMany(e => e.Mistakes).Select(m => m.Code);

    /// <summary>How likely an explanation is; 0 where it is not listed.</summary>
    public decimal Likelihood(string code, long? count = null) =>
        Explained(count).Explanations.FirstOrDefault(e => e.Code == code)?.Likelihood ?? 0m;

    /// <summary>The book after a count is settled by an explanation.</summary>
    public Told Accept(string code, long count) => And(new SettleByExplanation(count, code,
        Explained(count).Explanations.Single(e => e.Code == code)).Decide(Book, Today));

    /// <summary>What an explanation would write.</summary>
    public Rehearsal Rehearsed(Explanation explanation) =>
        Rehearsal.Of(Book, [.. explanation.Mend(Book).Select(c => new Supposition("suppose", c))], Today);

    /// <summary>A command is asked of the book.</summary>
    public Asked When(ICommand command) => new Given(Book).When(command);
}
