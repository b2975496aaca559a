namespace CashEvents.Store.Counts;

/// <summary>A round of counts as it was read.</summary>
/// <param name="Round">The round with its figures.</param>
/// <param name="Opened">The line that opened it.</param>
/// <param name="Closed">The line that closed it; null while it is open.</param>
public sealed record ReadRound(CountRound Round, BookLine Opened, BookLine? Closed);

/// <summary>
/// Reads rounds of counts: those that are open from the book's page, those that are closed from the line that closed
/// them.
/// </summary>
public sealed class CountRoundReader(BookReader books, LineReader lines)
{
    private const int AtOnce = 100;

    /// <summary>The open rounds, and those closed after a line, in the order in which they were closed.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="after">Only rounds closed after this line.</param>
    /// <param name="limit">At most so many closed ones.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<(Book Book, IReadOnlyList<ReadRound> Open, IReadOnlyList<ReadRound> Closed)> ListAsync(
        string household, long after, int limit, CancellationToken cancellation = default)
    {
        var book = await books.ReadAsync(household, cancellation).ConfigureAwait(false);
        // The lines are read after the book: a round that was closed between is still open in this answer.
        var closings = (await lines.ReadAsync(household, new LineFilter(after, limit, ClosedKind), cancellation)
            .ConfigureAwait(false)).TakeWhile(l => l.Number <= book.Line).ToList();
        var openings = (await lines.ReadAsync(household, closings.Select(RoundOf).Concat(book.CountRounds.Keys),
            cancellation).ConfigureAwait(false)).ToDictionary(l => l.Number);
        return (
            book,
            [.. book.CountRounds.Values.OrderBy(r => r.Id).Select(r => new ReadRound(r, openings[r.Id], null))],
            [.. closings.Select(closed =>
                new ReadRound(AsClosed(openings[RoundOf(closed)], closed), openings[RoundOf(closed)], closed))]);
    }

    /// <summary>One round, with what its counts found by their lines; null when there is none of that id.</summary>
    public async Task<(Book Book, ReadRound Read, IReadOnlyDictionary<long, BookLine> Counts)?> FindAsync(
        string household, long id, CancellationToken cancellation = default)
    {
        var book = await books.ReadAsync(household, cancellation).ConfigureAwait(false);
        if (id > book.Line || await lines.FindAsync(household, id, cancellation)
            .ConfigureAwait(false) is not { Event: CountRoundOpened } opened)
        {
            return null;
        }

        var closed = book.CountRounds.ContainsKey(id)
            ? null
            : await ClosingAsync(household, id, cancellation).ConfigureAwait(false);
        var round = closed is null ? book.CountRounds[id] : AsClosed(opened, closed);
        var counts = await lines.ReadAsync(household, round.Compartments.Select(c => c.Count?.Line).OfType<long>(),
            cancellation).ConfigureAwait(false);
        return (book, new ReadRound(round, opened, closed), counts.ToDictionary(l => l.Number));
    }

    private static string ClosedKind => LineKinds.Names[typeof(CountRoundClosed)];

    private static long RoundOf(BookLine closed) => ((CountRoundClosed)closed.Event).Round;

    private static CountRound AsClosed(BookLine opened, BookLine closed)
    {
        var round = (CountRoundOpened)opened.Event;
        return new CountRound(opened.Number, round.Wallet, round.Purpose, round.Blind,
            [.. ((CountRoundClosed)closed.Event).Results.Select(
                r => new RoundCompartment(r.Compartment, opened.Number) { Count = r.Count, Earlier = r.Earlier })]);
    }

    // Rounds of other compartments may have been closed before this one.
    private async Task<BookLine> ClosingAsync(string household, long id, CancellationToken cancellation)
    {
        for (var after = id; ;)
        {
            var closings = await lines.ReadAsync(household, new LineFilter(after, AtOnce, ClosedKind), cancellation)
                .ConfigureAwait(false);
            if (closings.FirstOrDefault(l => RoundOf(l) == id) is { } closing)
            {
                return closing;
            }

            after = closings[^1].Number;
        }
    }
}
