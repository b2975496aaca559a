using System.Text.Json;
using System.Text.Json.Serialization;
using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Notices;

/// <summary>What is known when a book is looked at for what is to be told.</summary>
/// <param name="Settings">Which notices the household wants.</param>
/// <param name="Alarms">What other parts of the program found.</param>
public sealed record NoticeLook(NoticeSettings Settings, IReadOnlyList<Alarm> Alarms);

/// <summary>
/// What was told of each household's book, beside it. It can be thrown away: what holds is worked out anew from the
/// book, and then told anew.
/// </summary>
public sealed class NoticeBook(NpgsqlDataSource database, NewLines lines)
{
    // What is over for longer is not told any more.
    private static readonly TimeSpan _keptFor = TimeSpan.FromDays(400);

    // What is null says something here.
    private static readonly JsonSerializerOptions _settings =
        new(BookJson.Options) { DefaultIgnoreCondition = JsonIgnoreCondition.Never };

    private const string Columns =
        "number, key, kind, title, detail, compartment, about_day, since, over_number, over_at";

    // Whoever keeps what it found holds its row: of several servers one does at a time, and the next sees it.
    private const string Hold = $"""
        insert into {BookTables.Schema}.notice_look (tenant_id, line, day, due, told)
        values ($1, -1, '0001-01-01', '-infinity', 0) on conflict do nothing
        """;

    /// <summary>
    /// The households whose books are to be looked at: all that have lines that were not, or a new day.
    /// </summary>
    public Task<IReadOnlyList<string>> AllDueAsync(DateTimeOffset now, CancellationToken cancellation = default) =>
        HouseholdsAsync($"""
            select s.tenant_id from {BookTables.Schema}.mt_streams s
            left join {BookTables.Schema}.notice_look l on l.tenant_id = s.tenant_id
            where s.id = '{BookTables.Stream}' and (l.tenant_id is null or l.line <> s.version or l.due <= $1)
            """, now, cancellation);

    /// <summary>Those for which a day has begun; found by an index.</summary>
    public Task<IReadOnlyList<string>> DueAsync(DateTimeOffset now, CancellationToken cancellation = default) =>
        HouseholdsAsync($"select tenant_id from {BookTables.Schema}.notice_look where due <= $1", now, cancellation);

    /// <summary>Which notices a household wants.</summary>
    public async Task<NoticeSettings> SettingsAsync(string household, CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await SettingsAsync(connection, household, cancellation).ConfigureAwait(false);
    }

    /// <summary>Says which notices a household wants, in the stead of what it said before.</summary>
    public async Task SetAsync(string household, NoticeSettings settings, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand($"""
            insert into {BookTables.Schema}.notice_setting (tenant_id, settings) values ($1, $2)
            on conflict (tenant_id) do update set settings = excluded.settings
            """);
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        command.Parameters.Add(new NpgsqlParameter
        {
            Value = JsonSerializer.Serialize(settings, _settings),
            NpgsqlDbType = NpgsqlDbType.Jsonb,
        });
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
        await LookAgainAsync(database, household, cancellation).ConfigureAwait(false);
        lines.LookAgain(household);
    }

    /// <summary>
    /// What was told, by the numbers of what began: what holds still, and at most so many that are over.
    /// </summary>
    /// <param name="household">Whose.</param>
    /// <param name="most">So many that are over, the latest.</param>
    /// <param name="cancellation">Stops it.</param>
    public Task<IReadOnlyList<Notice>> ReadAsync(string household, int most,
        CancellationToken cancellation = default) => ReadAsync($"""
            select {Columns} from {BookTables.Schema}.notice where tenant_id = $1 and over_number is null
            union all
            (select {Columns} from {BookTables.Schema}.notice where tenant_id = $1 and over_number is not null
             order by over_number desc limit $2)
            order by number
            """, cancellation, household, most);

    /// <summary>What began or was over after a telling, in order; each with the number of that telling.</summary>
    public async Task<IReadOnlyList<(long Telling, Notice Notice)>> TellingsAfterAsync(string household, long after,
        int most, CancellationToken cancellation = default) =>
        [
            .. (await ReadAsync($"""
                select {Columns} from {BookTables.Schema}.notice where tenant_id = $1 and (number > $2 or over_number > $2)
                """, cancellation, household, after).ConfigureAwait(false))
                .SelectMany(notice => new[] { notice.Number, notice.OverNumber ?? 0 }.Where(n => n > after)
                    .Select(n => (n, n == notice.Number ? notice with { OverNumber = null, Over = null } : notice)))
                .OrderBy(telling => telling.Item1).Take(most),
        ];

    /// <summary>The number of the last telling; 0 before the first.</summary>
    public async Task<long> LastTellingAsync(string household, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(
            $"select told from {BookTables.Schema}.notice_look where tenant_id = $1");
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        return await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) is long told ? told : 0;
    }

    /// <summary>The household's date on which its book was looked at last; null before the first look.</summary>
    public async Task<DateOnly?> LastDayAsync(string household, CancellationToken cancellation = default)
    {
        await using var command = database.CreateCommand(
            $"select day from {BookTables.Schema}.notice_look where tenant_id = $1");
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await reader.ReadAsync(cancellation).ConfigureAwait(false) ? reader.GetFieldValue<DateOnly>(0) : null;
    }

    /// <summary>
    /// Looks at a book once: what holds now and was not told begins, what was told and holds no more is over.
    /// </summary>
    /// <param name="household">Whose book.</param>
    /// <param name="book">As it stands.</param>
    /// <param name="now">The instant.</param>
    /// <param name="look">Works out what holds.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Whether it was looked at: not where nothing is new since the last look.</returns>
    public async Task<bool> LookAsync(string household, Book book, DateTimeOffset now,
        Func<NoticeLook, Task<IReadOnlyList<Noticed>>> look, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(look);
        var today = book.Household!.DateAt(now);
        for (var isFirst = true; ; isFirst = false)
        {
            var before = await StandsAsync(household, cancellation).ConfigureAwait(false);
            if ((before.Line == book.Line && before.Day == today) || (!isFirst && before.Line > book.Line))
            {
                return false;
            }

            // Nothing is held meanwhile: it takes as long as it takes.
            var known = await KnownAsync(household, cancellation).ConfigureAwait(false);
            var noticed = (await look(known).ConfigureAwait(false))
                .Where(one => !known.Settings.Silent.Contains(one.Kind)).DistinctBy(one => one.Key).ToList();
            if (await KeepAsync(household, book, today, now, before, noticed, cancellation).ConfigureAwait(false))
            {
                return true;
            }
        }
    }

    // Unless another server looked meanwhile, or something else is known by now.
    private async Task<bool> KeepAsync(string household, Book book, DateOnly today, DateTimeOffset now,
        (long Line, DateOnly Day, long Told) before, List<Noticed> noticed, CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(cancellation).ConfigureAwait(false);
        await ExecuteAsync(connection, Hold, cancellation, household).ConfigureAwait(false);
        if (await StandsAsync(connection, household, " for update", cancellation).ConfigureAwait(false) != before)
        {
            return false;
        }

        var told = await TellAsync(connection, household, noticed, before.Told, now, cancellation)
            .ConfigureAwait(false);
        await ExecuteAsync(connection, $"""
            update {BookTables.Schema}.notice_look set line = $2, day = $3, due = $4, told = $5 where tenant_id = $1
            """, cancellation, household, book.Line, today,
            book.Household!.InstantOf(today.AddDays(1), TimeOnly.MinValue).UtcDateTime, told).ConfigureAwait(false);
        await transaction.CommitAsync(cancellation).ConfigureAwait(false);
        return true;
    }

    private async Task<NoticeLook> KnownAsync(string household, CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return new NoticeLook(await SettingsAsync(connection, household, cancellation).ConfigureAwait(false),
            await Alarms.OfAsync(connection, household, cancellation).ConfigureAwait(false));
    }

    private async Task<(long Line, DateOnly Day, long Told)> StandsAsync(string household,
        CancellationToken cancellation)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await StandsAsync(connection, household, "", cancellation).ConfigureAwait(false);
    }

    internal static async Task LookAgainAsync(NpgsqlDataSource database, string household,
        CancellationToken cancellation)
    {
        await using var command = database.CreateCommand(
            $"update {BookTables.Schema}.notice_look set line = -1, due = '-infinity' where tenant_id = $1");
        command.Parameters.Add(new NpgsqlParameter { Value = household });
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }

    private static async Task<long> TellAsync(NpgsqlConnection connection, string household, List<Noticed> noticed,
        long told, DateTimeOffset now, CancellationToken cancellation)
    {
        var open = (await ReadAsync(new NpgsqlCommand($"select {Columns} from {BookTables.Schema}.notice where "
            + "tenant_id = $1 and over_number is null order by number", connection), cancellation, household)
            .ConfigureAwait(false)).ToDictionary(notice => notice.What.Key, StringComparer.Ordinal);
        var last = told;
        foreach (var over in open.Values.Where(one => noticed.TrueForAll(n => n.Key != one.What.Key)))
        {
            await ExecuteAsync(connection,
                $"update {BookTables.Schema}.notice set over_number = $3, over_at = $4 where "
                + "tenant_id = $1 and number = $2", cancellation, household, over.Number, ++last, now.UtcDateTime)
                .ConfigureAwait(false);
        }

        foreach (var one in noticed)
        {
            if (open.TryGetValue(one.Key, out var known))
            {
                // It was told; its words follow the book in silence.
                if (known.What != one)
                {
                    await ExecuteAsync(connection, $"update {BookTables.Schema}.notice set title = $3, detail = $4, "
                        + "about_day = $5 where tenant_id = $1 and number = $2", cancellation, household, known.Number,
                        one.Title, one.Detail, (object?)one.On ?? DBNull.Value).ConfigureAwait(false);
                }

                continue;
            }

            await ExecuteAsync(connection, $"""
                insert into {BookTables.Schema}.notice (tenant_id, number, key, kind, title, detail, compartment, about_day, since)
                values ($1, $2, $3, $4, $5, $6, $7, $8, $9)
                """, cancellation, household, ++last, one.Key, Stored.Word(one.Kind), one.Title, one.Detail,
                (object?)one.Compartment ?? DBNull.Value, (object?)one.On ?? DBNull.Value, now.UtcDateTime)
                .ConfigureAwait(false);
        }

        if (last > told)
        {
            await ExecuteAsync(connection,
                $"delete from {BookTables.Schema}.notice where tenant_id = $1 and over_at < $2",
                cancellation, household, (now - _keptFor).UtcDateTime).ConfigureAwait(false);
            await ExecuteAsync(connection, $"select pg_notify('{Announcements.OfNotices}', $1)", cancellation,
                FormattableString.Invariant($"{last} {household}")).ConfigureAwait(false);
        }

        return last;
    }

    // As it is held for the first time, before it was ever looked at.
    private static async Task<(long Line, DateOnly Day, long Told)> StandsAsync(NpgsqlConnection connection,
        string household, string hold, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"select line, day, told from {BookTables.Schema}.notice_look "
            + $"where tenant_id = $1{hold}", connection)
        { Parameters = { new() { Value = household } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        return await reader.ReadAsync(cancellation).ConfigureAwait(false)
            ? (reader.GetInt64(0), reader.GetFieldValue<DateOnly>(1), reader.GetInt64(2))
            : (-1, DateOnly.MinValue, 0);
    }

    private static async Task<NoticeSettings> SettingsAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"select settings from {BookTables.Schema}.notice_setting where "
            + "tenant_id = $1", connection)
        { Parameters = { new() { Value = household } } };
        return await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) is string settings
            ? JsonSerializer.Deserialize<NoticeSettings>(settings, _settings)!
            : NoticeSettings.Usual;
    }

    private async Task<IReadOnlyList<Notice>> ReadAsync(string sql, CancellationToken cancellation,
        params object[] values)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        return await ReadAsync(new NpgsqlCommand(sql, connection), cancellation, values).ConfigureAwait(false);
    }

    private static async Task<IReadOnlyList<Notice>> ReadAsync(NpgsqlCommand command, CancellationToken cancellation,
        params object[] values)
    {
        await using var _ = command.ConfigureAwait(false);
        command.Parameters.AddRange(values.Select(value => new NpgsqlParameter { Value = value }).ToArray());
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var notices = new List<Notice>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            notices.Add(new Notice(
                reader.GetInt64(0),
                new Noticed(Stored.Read<NoticeKind>(reader.GetString(2)), reader.GetString(1), reader.GetString(3),
                    reader.GetString(4))
                {
                    Compartment = reader.IsDBNull(5) ? null : reader.GetString(5),
                    On = reader.IsDBNull(6) ? null : reader.GetFieldValue<DateOnly>(6),
                },
                reader.GetFieldValue<DateTimeOffset>(7),
                reader.IsDBNull(8) ? null : reader.GetInt64(8),
                reader.IsDBNull(9) ? null : reader.GetFieldValue<DateTimeOffset>(9)));
        }

        return notices;
    }

    private async Task<IReadOnlyList<string>> HouseholdsAsync(string sql, DateTimeOffset now,
        CancellationToken cancellation)
    {
        await using var command = database.CreateCommand(sql);
        command.Parameters.Add(new NpgsqlParameter { Value = now.UtcDateTime });
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var households = new List<string>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            households.Add(reader.GetString(0));
        }

        return households;
    }

    private static async Task ExecuteAsync(NpgsqlConnection connection, string sql, CancellationToken cancellation,
        params object[] values)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        command.Parameters.AddRange(values.Select(value => new NpgsqlParameter { Value = value }).ToArray());
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }
}
