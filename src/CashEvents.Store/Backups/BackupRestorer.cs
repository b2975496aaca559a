using System.Runtime.InteropServices;
using System.Text.Json;
using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Backups;

/// <summary>
/// Takes books in from a backup, all or nothing. Each line is held against its hash; what is kept beside the lines is
/// made from them.
/// </summary>
public sealed class BackupRestorer(NpgsqlDataSource database)
{
    // A handful of statements for so many lines, and no more of a book than that in memory.
    private const int TakenAtOnce = 2000;

    private const string Lines = $"""
        copy {BookTables.Schema}.mt_events (seq_id, id, stream_id, version, data, type, timestamp, tenant_id, correlation_id, headers, user_name, is_archived)
        from stdin (format binary)
        """;

    private const string Numbers =
        $"select nextval('{BookTables.Schema}.mt_events_sequence') from generate_series(1, $1)";

    private const string Book =
        $"insert into {BookTables.Schema}.mt_streams (tenant_id, id, version) values ($1, '{BookTables.Stream}', $2)";

    private const string Answer =
        $"insert into {BookTables.Schema}.answer (tenant_id, idempotency_key, fingerprint, entry) values ($1, $2, $3, "
            + $"$4)";

    private const string Origin = $"insert into {BookTables.Schema}.page_origin (tenant_id, origin) values ($1, $2)";

    private const string Known = $"select tenant_id from {BookTables.Schema}.mt_streams order by 1";

    // Two that restore at once would both find no book.
    private const string Alone = $"lock table {BookTables.Schema}.mt_streams in share row exclusive mode";

    /// <summary>Reads a backup whole and holds its lines against their hashes; nothing is taken in.</summary>
    /// <exception cref="BackupException">It can't be read to its end.</exception>
    public static async Task<IReadOnlyList<BookBackup>> CheckAsync(Stream file,
        CancellationToken cancellation = default)
    {
        var books = new List<BookBackup>();
        (BackedUpBook Book, ChainFinding Walked)? open = null;
        await foreach (var record in BackupFile.ReadAsync(file, cancellation).ConfigureAwait(false))
        {
            if (record is BackedUpBook book)
            {
                Close();
                open = (book, ChainFinding.OfNothing);
            }
            else if (record is BackedUpLine line && open is var (of, walked))
            {
                open = (of, walked.Then(StoredOf(line), of.Household, of.Lines));
            }
        }

        Close();
        return books;

        void Close()
        {
            if (open is var (of, walked))
            {
                books.Add(BookBackup.Of(of, walked));
            }
        }
    }

    /// <summary>
    /// Takes in every book of a backup into a database that has none, or one into a database without it.
    /// </summary>
    /// <param name="file">The backup.</param>
    /// <param name="household">Whose book; null for all.</param>
    /// <param name="cancellation">Gives up; nothing is taken in then.</param>
    /// <exception cref="BackupException">There is a book here already, or the file is not whole, or one of its lines
    /// does
    /// not agree with its hash.</exception>
    public async Task<IReadOnlyList<BookBackup>> RestoreAsync(Stream file, string? household = null,
        CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(cancellation).ConfigureAwait(false);
        await MustBeFreeAsync(connection, household, cancellation).ConfigureAwait(false);
        var restored = new List<BookBackup>();
        await using (var records = BackupFile.ReadAsync(file, cancellation).GetAsyncEnumerator(cancellation))
        {
            for (var more = await records.MoveNextAsync().ConfigureAwait(false); more;)
            {
                if (records.Current is BackedUpBook book && (household is null || book.Household == household))
                {
                    (var taken, more) =
                        await TakeInAsync(connection, book, records, cancellation).ConfigureAwait(false);
                    restored.Add(taken);
                }
                else
                {
                    more = await records.MoveNextAsync().ConfigureAwait(false);
                }
            }
        }

        if (restored.Count == 0)
        {
            throw new BackupException(household is null ? "There is no book in this backup."
                : $"There is no book of '{household}' in this backup.");
        }

        await transaction.CommitAsync(cancellation).ConfigureAwait(false);
        return restored;
    }

    private static async Task MustBeFreeAsync(NpgsqlConnection connection, string? household,
        CancellationToken cancellation)
    {
        await using (var alone = new NpgsqlCommand(Alone, connection))
        {
            await alone.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        }

        await using var command = new NpgsqlCommand(Known, connection);
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var known = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            known.Add(reader.GetString(0));
        }

        if (household is null ? known.Count > 0 : known.Contains(household))
        {
            throw new BackupException(household is null
                ? $"There are books here already: {string.Join(", ", known)}. Restore into an empty data folder "
                    + "(CASHEVENTS_DATA) or another database, or name one household of the backup that is not here."
                : $"There is a book of '{household}' here already, and nothing was changed. Restore into an empty data "
                    + "folder (CASHEVENTS_DATA) or another database.");
        }
    }

    private static async Task<(BookBackup Taken, bool More)> TakeInAsync(NpgsqlConnection connection,
        BackedUpBook book, IAsyncEnumerator<BackupRecord> records, CancellationToken cancellation)
    {
        await ExecuteAsync(connection, Book, cancellation, book.Household, book.Lines).ConfigureAwait(false);
        var walked = ChainFinding.OfNothing;
        var making = new Making(connection, book.Household);
        var more = await records.MoveNextAsync().ConfigureAwait(false);
        // While PostgreSQL takes some in, the next are read and held against their hashes.
        var putting = Task.CompletedTask;
        try
        {
            while (more && records.Current is BackedUpLine)
            {
                (var lines, more) = await SomeAsync(records).ConfigureAwait(false);
                walked = walked.Then(lines, book.Household, book.Lines);
                MustAgree(new BookBackup(book.Household, walked));
                var said = lines.ConvertAll(Said);
                said.ForEach(making.Take);
                await putting.ConfigureAwait(false);
                putting = Task.Run(() => PutInAsync(connection, book.Household, lines, said, making, cancellation),
                    cancellation);
            }
        }
        finally
        {
            // The connection must be at rest before it is given back.
            await putting.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        await putting.ConfigureAwait(false);
        var taken = BookBackup.Of(book, walked);
        MustAgree(taken);
        more = await TakeInRestAsync(connection, book.Household, records, more, cancellation).ConfigureAwait(false);
        await making.EndAsync(cancellation).ConfigureAwait(false);
        return (taken, more);
    }

    private static void MustAgree(BookBackup book)
    {
        if (book.Finding.Misfit is { } misfit)
        {
            throw new BackupException($"Nothing was taken in: the book of '{book.Household}' does not agree with its "
                + $"hashes. {misfit.Reason} Take an earlier backup.");
        }
    }

    private static async Task<(List<StoredLine> Lines, bool More)> SomeAsync(IAsyncEnumerator<BackupRecord> records)
    {
        var lines = new List<StoredLine>(TakenAtOnce);
        var more = true;
        for (; more && lines.Count < TakenAtOnce && records.Current is BackedUpLine line;
            more = await records.MoveNextAsync().ConfigureAwait(false))
        {
            lines.Add(StoredOf(line));
        }

        return (lines, more);
    }

    private static SaidLine Said(StoredLine line)
    {
        try
        {
            return LineReader.Said(line.Number, line.Kind, line.By!, line.Content.Span);
        }
        catch (Exception failure) when (failure is JsonException or KeyNotFoundException or NotSupportedException)
        {
            throw new BackupException($"Nothing was taken in: this program can't read line {line.Number}, of the kind "
                + $"'{line.Kind}'. Take the version that wrote the backup, or a later one.", failure);
        }
    }

    private static async Task PutInAsync(NpgsqlConnection connection, string household, List<StoredLine> lines,
        List<SaidLine> said, Making making, CancellationToken cancellation)
    {
        var numbers = await NumbersAsync(connection, lines.Count, cancellation).ConfigureAwait(false);
        await using (var rows = await connection.BeginBinaryImportAsync(Lines, cancellation).ConfigureAwait(false))
        {
            for (var i = 0; i < lines.Count; i++)
            {
                await WriteAsync(rows, household, lines[i], numbers[i], cancellation).ConfigureAwait(false);
            }

            await rows.CompleteAsync(cancellation).ConfigureAwait(false);
        }

        await making.PutInAsync(said, cancellation).ConfigureAwait(false);
    }

    private static async Task<bool> TakeInRestAsync(NpgsqlConnection connection, string household,
        IAsyncEnumerator<BackupRecord> records, bool more, CancellationToken cancellation)
    {
        for (; more && records.Current is BackedUpAnswer or BackedUpOrigin or BackedUpRow;
            more = await records.MoveNextAsync().ConfigureAwait(false))
        {
            await (records.Current switch
            {
                BackedUpAnswer answer => ExecuteAsync(connection, Answer, cancellation, household, answer.Key,
                    answer.Fingerprint, new NpgsqlParameter
                    { Value = answer.Entry.GetRawText(), NpgsqlDbType = NpgsqlDbType.Jsonb }),
                BackedUpRow row => ExecuteAsync(connection, RowOf(row.Table), cancellation, new NpgsqlParameter
                { Value = row.Values.GetRawText(), NpgsqlDbType = NpgsqlDbType.Jsonb }),
                var origin => ExecuteAsync(connection, Origin, cancellation, household,
                    ((BackedUpOrigin)origin).Origin),
            }).ConfigureAwait(false);
        }

        return more;
    }

    // A name that is not on the list is not this program's, and goes into no statement.
    private static string RowOf(string table) => BookTables.Beside.ContainsKey(table)
        ? $"insert into {BookTables.Schema}.{table} select * from "
            + $"jsonb_populate_record(null::{BookTables.Schema}.{table}, $1) on conflict do nothing"
        : throw new BackupException($"The backup has rows of '{table}', which this program does not know. Nothing was "
            + "taken in: take a later version of it.");

    private static StoredLine StoredOf(BackedUpLine line) => new(line.Line, line.EntryId, line.Kind, line.RecordedAt,
        line.By, JsonMarshal.GetRawUtf8Value(line.Content).ToArray(), line.Hash);

    private static async Task WriteAsync(NpgsqlBinaryImporter rows, string household, StoredLine line, long number,
        CancellationToken cancellation)
    {
        await rows.StartRowAsync(cancellation).ConfigureAwait(false);
        await rows.WriteAsync(number, NpgsqlDbType.Bigint, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(Guid.CreateVersion7(line.RecordedAt), NpgsqlDbType.Uuid, cancellation)
            .ConfigureAwait(false);
        await rows.WriteAsync(BookTables.Stream, NpgsqlDbType.Varchar, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(line.Number, NpgsqlDbType.Bigint, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(line.Content, NpgsqlDbType.Jsonb, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(line.Kind, NpgsqlDbType.Varchar, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(line.RecordedAt.UtcDateTime, NpgsqlDbType.TimestampTz, cancellation)
            .ConfigureAwait(false);
        await rows.WriteAsync(household, NpgsqlDbType.Varchar, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(line.EntryId, NpgsqlDbType.Varchar, cancellation).ConfigureAwait(false);
        if (line.Hash is null)
        {
            await rows.WriteNullAsync(cancellation).ConfigureAwait(false);
        }
        else
        {
            // It was held against the line: it is hexadecimal.
            await rows.WriteAsync($$"""{"{{LineHash.Header}}": "{{line.Hash}}"}""", NpgsqlDbType.Jsonb, cancellation)
                .ConfigureAwait(false);
        }

        await rows.WriteAsync(line.By, NpgsqlDbType.Varchar, cancellation).ConfigureAwait(false);
        await rows.WriteAsync(false, NpgsqlDbType.Boolean, cancellation).ConfigureAwait(false);
    }

    // Marten's numbers over all books: a server that writes others meanwhile takes them from the same sequence.
    private static async Task<List<long>> NumbersAsync(NpgsqlConnection connection, long lines,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(Numbers, connection) { Parameters = { new() { Value = lines } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var numbers = new List<long>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            numbers.Add(reader.GetInt64(0));
        }

        return numbers;
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken cancellation,
        params object[] values)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        foreach (var value in values)
        {
            command.Parameters.Add(value as NpgsqlParameter ?? new NpgsqlParameter { Value = value });
        }

        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }
}
