using System.Collections.Immutable;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>What came of requests of one book.</summary>
/// <param name="Page">The book after them.</param>
/// <param name="Results">One for each request.</param>
/// <param name="IsShared">Whether another server wrote in the book too.</param>
internal sealed record Committed(BookPage Page, ImmutableArray<WriteResult> Results, bool IsShared = false);

/// <summary>
/// Decides the requests of one book and commits their lines, projections and answers in one transaction. It waits for
/// whoever holds the book, and catches up with other servers.
/// </summary>
internal sealed class BookCommitter(NpgsqlDataSource database, Clerk clerk, WritingMeasures measures, ILogger logger)
{
    // Another server on the same database can come between; each time it does, the book is caught up and everything
    // decided again.
    private const int MostConflicts = 50;

    /// <summary>Some books as the database has them.</summary>
    public Task<IReadOnlyList<BookPage>> LoadAsync(IReadOnlyList<string> households) =>
        BookLoader.LoadAsync(database, households);

    /// <summary>Waits for this server's turn in a book that another server writes in too.</summary>
    public Task<Turn> TurnAsync(string household, BookPage? known) => Turn.TakeAsync(database, household, known);

    /// <summary>Writes requests that came together.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="known">The book as last known here; null to read it.</param>
    /// <param name="requests">In the order they came.</param>
    /// <param name="turn">The turn that this server has in the book; null where it takes none.</param>
    public async Task<Committed> CommitAsync(string household, BookPage? known, ImmutableArray<WriteRequest> requests,
        Turn? turn = null)
    {
        var keys = BookStates.KeysOf(requests);
        for (var conflicts = 0; ; conflicts++)
        {
            var page = await PageAsync(household, known, turn).ConfigureAwait(false);
            var answers = BookState.NoAnswers;
            // What looks like a clock that is behind may be a page that is: another server may have said that the clock
            // was ahead.
            if (keys.Length > 0 || (turn is null && known is not null && clerk.IsBehind(page)))
            {
                (page, answers) = await RefreshAsync(household, page, keys).ConfigureAwait(false);
            }

            var isShared = conflicts > 0 || (known is not null && known != page);
            var decided = clerk.Decide(household, page, requests, answers);

            // Lines are checked against the end of the book when they are appended; a command that writes none must not
            // rest on a book that has moved on either.
            if (keys.Length == 0 && turn is null && !decided.WritesForEach)
            {
                (known, _) = await RefreshAsync(household, page, keys).ConfigureAwait(false);
                if (known != page)
                {
                    continue;
                }
            }

            if (decided.Lines == 0)
            {
                clerk.Tell(decided);
                return new Committed(page, decided.Results, isShared);
            }

            var hash = await BookLoader.HashAsync(database, household, page).ConfigureAwait(false);
            try
            {
                var written = await AppendAsync(decided.Append(hash), turn).ConfigureAwait(false);
                clerk.Tell(decided);
                return new Committed(written, decided.Results, isShared);
            }
            catch (PostgresException failure) when (turn is null && conflicts < MostConflicts
                && failure.SqlState == PostgresErrorCodes.DivisionByZero)
            {
                TellRereading(household, page);
                known = null;
            }
            catch (PostgresException failure) when (turn is null && conflicts < MostConflicts && IsConflict(failure))
            {
                (known, _) = await RefreshAsync(household, page, keys).ConfigureAwait(false);
            }
        }
    }

    private async Task<BookPage> AppendAsync(Append append, Turn? turn)
    {
        await using var batch = turn?.CreateBatch() ?? database.CreateBatch();
        AppendBatch.Add(batch, [append], waits: true);
        if (turn is not null)
        {
            Turn.AddEnd(batch);
        }

        await measures.CommitAsync(append.Lines.Count, () => batch.ExecuteNonQueryAsync()).ConfigureAwait(false);
        return append.Page;
    }

    // Whoever has the turn has read what others wrote until then.
    private async Task<BookPage> PageAsync(string household, BookPage? known, Turn? turn)
    {
        if ((turn is null ? known : turn.Page) is { } page)
        {
            return page;
        }

        if (known is not null)
        {
            TellRereading(household, known);
        }

        return await BookLoader.LoadAsync(database, household).ConfigureAwait(false);
    }

    private static bool IsConflict(PostgresException failure) => failure.SqlState
        is PostgresErrorCodes.UniqueViolation or PostgresErrorCodes.DeadlockDetected
        or PostgresErrorCodes.SerializationFailure;

    private void TellRereading(string household, BookPage page) => logger.LogWarning(
        "The book of {Household} is not the one that this program knew at line {Line}: it was rebuilt, or the database "
            + "was restored or changed. It is read anew before anything is decided on it.",
        household, page.Book.Line);

    /// <summary>
    /// The book caught up with what other servers have written, or read anew where it is not what was known; and the
    /// answers already given under some idempotency keys.
    /// </summary>
    private async Task<(BookPage Page, IReadOnlyDictionary<string, Answer> Answers)> RefreshAsync(string household,
        BookPage page, string[] keys)
    {
        var state = (await BookStates.ReadAsync(database, [(household, keys)]).ConfigureAwait(false))[household];
        if (page.StandsAt(state.End))
        {
            return (page, state.Answers);
        }

        if (state.End.Line > page.Book.Line
            && await BookLoader.CatchUpAsync(database, household, page).ConfigureAwait(false) is { } caughtUp
            && caughtUp.Book.Line >= state.End.Line)
        {
            return (caughtUp, state.Answers);
        }

        TellRereading(household, page);
        return (await BookLoader.LoadAsync(database, household).ConfigureAwait(false), state.Answers);
    }
}
