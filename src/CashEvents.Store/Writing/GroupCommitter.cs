using System.Collections.Immutable;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>Requests that wait for one book, with the book as it is known here.</summary>
internal readonly record struct WaitingBook(string Household, BookPage Known, ImmutableArray<WriteRequest> Requests);

/// <summary>
/// Decides the requests of several books, each on its own book, and commits them all in one transaction. It waits for
/// no book: one that is not as it was known, or that somebody holds, is left to be written by itself.
/// </summary>
internal sealed class GroupCommitter(NpgsqlDataSource database, Clerk clerk, WritingMeasures measures)
{
    /// <summary>Writes requests of several households.</summary>
    /// <param name="books">Each household once.</param>
    /// <returns>What came of each; null for one of which nothing was written, and that is to be written by
    /// itself.</returns>
    public async Task<IReadOnlyList<Committed?>> CommitAsync(IReadOnlyList<WaitingBook> books)
    {
        var keyed = books.Select(b => (b.Household, Keys: BookStates.KeysOf(b.Requests))).Where(b => b.Keys.Length > 0)
            .ToArray();
        var states = keyed.Length == 0 ? null : await BookStates.ReadAsync(database, keyed).ConfigureAwait(false);
        var prepared = books.Select(book => Prepare(book, states?.GetValueOrDefault(book.Household))).ToArray();
        var (decided, appends) = (prepared.Select(p => p.Decided).ToArray(), prepared.Select(p => p.Append).ToArray());
        Append[] writing = [.. appends.OfType<Append>()];
        if (writing.Length > 0 && !await AppendAsync(writing).ConfigureAwait(false))
        {
            return new Committed?[books.Count];
        }

        Array.ForEach([.. decided.OfType<Decided>()], clerk.Tell);
        return [.. decided.Zip(appends, (d, a) => d is null ? null : new Committed(a?.Page ?? d.Known, d.Results))];
    }

    // What can't be decided or written down is its household's alone: it is met again, and told, when that goes alone.
    private (Decided? Decided, Append? Append) Prepare(WaitingBook book, BookState? state)
    {
        try
        {
            var decided = Decide(book, state);
            return (decided, decided is { Lines: > 0 } ? decided.Append(decided.Known.Hash!) : null);
        }
#pragma warning disable CA1031 // Whatever is wrong with one book, the others must be written.
        catch
#pragma warning restore CA1031
        {
            return (null, null);
        }
    }

    // What can't be answered from what is known here is null: it takes a further look.
    private Decided? Decide(WaitingBook book, BookState? state)
    {
        if (clerk.IsBehind(book.Known) || book.Known.Hash is null
            || (state is not null && !book.Known.StandsAt(state.End)))
        {
            return null;
        }

        var decided = clerk.Decide(book.Household, book.Known, book.Requests, state?.Answers ?? BookState.NoAnswers);
        return state is null && !decided.WritesForEach ? null : decided;
    }

    private async Task<bool> AppendAsync(Append[] appends)
    {
        try
        {
            await using var batch = database.CreateBatch();
            AppendBatch.Add(batch, appends, waits: false);
            await measures.CommitAsync(appends.Sum(a => a.Lines.Count), () => batch.ExecuteNonQueryAsync())
                .ConfigureAwait(false);
            return true;
        }
        catch (PostgresException refused) when (refused.InvariantSeverity == "ERROR")
        {
            // Nothing of it was written. Which book it was is found when each goes by itself.
            return false;
        }
    }
}
