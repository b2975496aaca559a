using System.Collections.Immutable;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>
/// Writes what waits for one book by itself, however long that takes, and tells its senders what went wrong.
/// </summary>
internal sealed class LoneWriter(BookCommitter committer, NewLines newLines, OutageLog outages, SemaphoreSlim turns,
    ILogger logger)
{
    /// <summary>Writes and answers what waits, when it is this server's turn; all that came until then.</summary>
    public async Task WriteInTurnAsync(BookQueue queue)
    {
        // Whoever has a turn needs another connection to read by: not all may be taken by those that wait for theirs.
        await turns.WaitAsync().ConfigureAwait(false);
        try
        {
            await using var turn = await committer.TurnAsync(queue.Household, queue.Page).ConfigureAwait(false);
            await WriteAsync(queue, queue.Take(), turn).ConfigureAwait(false);
        }
#pragma warning disable CA1031 // Whatever went wrong, each sender must get an answer and the queue must live on.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            Fail(queue, queue.Take(), failure);
        }
        finally
        {
            turns.Release();
        }
    }

    /// <summary>Writes and answers what was taken from a queue.</summary>
    public async Task WriteAsync(BookQueue queue, ImmutableArray<Waiting> together, Turn? turn = null)
    {
        try
        {
            var committed = await committer.CommitAsync(queue.Household, queue.Page,
                [.. together.Select(w => w.Request)], turn).ConfigureAwait(false);
            if (queue.Page?.Book.Line != committed.Page.Book.Line)
            {
                newLines.Wrote(queue.Household, committed.Page.Book.Line);
            }

            queue.Answer(together, committed);
        }
        catch (ClockBehindException) when (together.Length > 1)
        {
            // One of them may say that the clock was ahead: those after it can be written then. Each has its own
            // transaction, which would wait for the turn.
            if (turn is not null)
            {
                await turn.DisposeAsync().ConfigureAwait(false);
            }

            foreach (var waiting in together)
            {
                await WriteAsync(queue, [waiting]).ConfigureAwait(false);
            }
        }
        catch (ClockBehindException behind)
        {
            Fail(together, behind);
        }
        catch (BookMisfitException misfit)
        {
            queue.Page = null;
            logger.LogError("The book of {Household} can't be written. {Reason}", queue.Household, misfit.Message);
            Fail(together, misfit);
        }
#pragma warning disable CA1031 // Whatever went wrong, each sender must get an answer and the queue must live on.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            Fail(queue, together, failure);
        }
    }

    /// <summary>Answers that PostgreSQL failed, and that it is unknown whether anything was written.</summary>
    public void Fail(BookQueue queue, ImmutableArray<Waiting> together, Exception failure)
    {
        queue.Page = null;
        outages.Tell(failure);
        Fail(together, new BookUnavailableException(Explain(failure), failure));
    }

    private static void Fail(ImmutableArray<Waiting> together, Exception answer)
    {
        foreach (var waiting in together)
        {
            waiting.Answer.TrySetException(answer);
        }
    }

    private static string Explain(Exception failure)
    {
        var cause = failure is PostgresException ? failure : failure.GetBaseException();

        // A server that panics may have written the commit before it did, and keep it when it has recovered.
        return cause is PostgresException { SqlState: PostgresErrorCodes.DiskFull, InvariantSeverity: "ERROR" }
            ? "The disk that PostgreSQL writes to is full, and nothing of this was written: free some room, then send "
                + "the request again."
            : "PostgreSQL failed while this was being written, so it may or may not stand in the book: send it again "
                + "with the same Idempotency-Key, or look at GET /api/lines first.";
    }
}
