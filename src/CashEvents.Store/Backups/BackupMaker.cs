using System.Data;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Backups;

/// <summary>
/// Writes books into a file as they stand at one moment, while reading and writing go on. Each line is held against its
/// hash meanwhile. Memory does not grow with the books.
/// </summary>
public sealed class BackupMaker(NpgsqlDataSource database, TimeProvider clock)
{
    // Few enough to be forgotten soon: their hashes are made while they are written, and more are read.
    private const int ReadAtOnce = 100;

    private const string Books =
        $"select tenant_id, version from {BookTables.Schema}.mt_streams where id = '{BookTables.Stream}' order by "
            + $"tenant_id";

    private const string AnswersOf =
        $"select idempotency_key, fingerprint, entry::text from {BookTables.Schema}.answer where tenant_id = $1 order "
            + $"by 1";

    private const string OriginsOf =
        $"select origin from {BookTables.Schema}.page_origin where tenant_id = $1 order by 1";

    /// <summary>Writes every book, or one.</summary>
    /// <param name="file">Where to; left open.</param>
    /// <param name="household">Whose book; null for all.</param>
    /// <param name="program">The program's version.</param>
    /// <param name="cancellation">Gives up; the file is of no use then.</param>
    /// <returns>What was found of each book. One with a misfit is in the file, and can't be taken in.</returns>
    /// <exception cref="BackupException">There is no such book.</exception>
    public async Task<IReadOnlyList<BookBackup>> WriteAsync(Stream file, string? household, string program,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var snapshot =
            await connection.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation).ConfigureAwait(false);
        var books = (await BooksAsync(connection, cancellation).ConfigureAwait(false))
            .Where(book => household is null || book.Household == household).ToList();
        if (books.Count == 0)
        {
            throw new BackupException(household is null ? "There is no book here to back up."
                : $"There is no book of '{household}' here.");
        }

        await using var writer = new BackupFile.Writer(file);
        await writer.WriteAsync(new BackupBegins(BackupBegins.Newest, clock.GetUtcNow(), program), cancellation)
            .ConfigureAwait(false);
        var written = new List<BookBackup>();
        foreach (var book in books)
        {
            written.Add(await WriteBookAsync(connection, writer, book, cancellation).ConfigureAwait(false));
        }

        await writer.EndAsync(cancellation).ConfigureAwait(false);
        return written;
    }

    private static async Task<List<BackedUpBook>> BooksAsync(NpgsqlConnection connection,
        CancellationToken cancellation)
    {
        var books = new List<BackedUpBook>();
        await using var command = new NpgsqlCommand(Books, connection);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            books.Add(new BackedUpBook(reader.GetString(0), reader.GetInt64(1)));
        }

        return books;
    }

    private static async Task<BookBackup> WriteBookAsync(NpgsqlConnection connection, BackupFile.Writer writer,
        BackedUpBook book, CancellationToken cancellation)
    {
        await writer.WriteAsync(book, cancellation).ConfigureAwait(false);
        var walked = ChainFinding.OfNothing;
        var walking = Task.CompletedTask;
        await foreach (var lines in StoredLine.ReadAsync(connection, book.Household, long.MaxValue, cancellation)
            .Chunk(ReadAtOnce).ConfigureAwait(false))
        {
            await walking.ConfigureAwait(false);
            walking = Task.Run(() => walked = walked.Then(lines, book.Household, book.Lines), cancellation);
            foreach (var line in lines)
            {
                using var content = JsonDocument.Parse(line.Content);
                await writer.WriteAsync(new BackedUpLine(line.Number, line.EntryId ?? "", line.Kind, line.RecordedAt,
                    line.By ?? "", content.RootElement, line.Hash), cancellation).ConfigureAwait(false);
            }
        }

        await walking.ConfigureAwait(false);
        await WriteRestAsync(connection, writer, book.Household, cancellation).ConfigureAwait(false);
        await WriteRowsAsync(connection, writer, book.Household, cancellation).ConfigureAwait(false);
        return BookBackup.Of(book, walked);
    }

    private static async Task WriteRestAsync(NpgsqlConnection connection, BackupFile.Writer writer, string household,
        CancellationToken cancellation)
    {
        await using (var answers = new NpgsqlCommand(AnswersOf, connection)
        { Parameters = { new() { Value = household } } })
        await using (var reader = await answers.ExecuteReaderAsync(cancellation).ConfigureAwait(false))
        {
            while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
            {
                using var entry = JsonDocument.Parse(reader.GetString(2));
                await writer.WriteAsync(new BackedUpAnswer(reader.GetString(0), reader.GetFieldValue<byte[]>(1),
                    entry.RootElement), cancellation).ConfigureAwait(false);
            }
        }

        await using var origins = new NpgsqlCommand(OriginsOf, connection)
        { Parameters = { new() { Value = household } } };
        await using var pages = await origins.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        while (await pages.ReadAsync(cancellation).ConfigureAwait(false))
        {
            await writer.WriteAsync(new BackedUpOrigin(pages.GetString(0)), cancellation).ConfigureAwait(false);
        }
    }

    private static async Task WriteRowsAsync(NpgsqlConnection connection, BackupFile.Writer writer, string household,
        CancellationToken cancellation)
    {
        foreach (var (table, mine) in BookTables.Beside)
        {
            await using var command = new NpgsqlCommand(
                $"select to_jsonb(t)::text from {BookTables.Schema}.{table} t where {mine} order by 1", connection)
            { Parameters = { new() { Value = household } } };
            await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
            while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
            {
                using var values = JsonDocument.Parse(reader.GetString(0));
                await writer.WriteAsync(new BackedUpRow(table, values.RootElement), cancellation).ConfigureAwait(false);
            }
        }
    }
}
