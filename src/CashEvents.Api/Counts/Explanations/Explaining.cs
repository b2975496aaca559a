namespace CashEvents.Api.Counts;

/// <summary>Explains counts from what is written.</summary>
internal sealed class Explaining(BookReader books, LineReader lines, TimeProvider clock)
{
    /// <summary>The book as it stands, and the last count of a place explained by it.</summary>
    /// <exception cref="RefusalException">There is no such count, a later one stands in its stead, or it is
    /// settled.</exception>
    public async Task<(Book Book, ExplainedCount Explained)> ExplainAsync(string household, long count, int limit,
        CancellationToken cancellation)
    {
        var book = await books.ReadWholeAsync(household, cancellation).ConfigureAwait(false);
        var day = LastCount.In(book, count).Count.OccurredOn;
        var read = await lines.ReadUpToAsync(household, day.AddDays(ExplainedCount.DaysAfter), book.Line,
            ExplainedCount.MostLines, cancellation).ConfigureAwait(false);
        return (book, ExplainedCount.Of(book, count, read, book.Household!.DateAt(clock.GetUtcNow()), limit));
    }

    /// <summary>The explanation of a code, as the book stands; null where none has that code.</summary>
    public async Task<Explanation?> FindAsync(string household, long count, string code, CancellationToken cancellation)
    {
        try
        {
            var (_, explained) = await ExplainAsync(household, count, ExplanationEndpoint.MostLimit, cancellation)
                .ConfigureAwait(false);
            return explained.Explanations.Append(explained.Together).FirstOrDefault(e => e?.Code == code);
        }
        catch (RefusalException)
        {
            // The book says the same when it decides, unless the request was answered before.
            return null;
        }
    }
}
