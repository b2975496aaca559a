using Npgsql;

namespace CashEvents.Store.Notices;

/// <summary>Something that a part of the program found, and that no line of the book says.</summary>
/// <param name="Kind">Such as <see cref="NoticeKind.BackupFailed"/>.</param>
/// <param name="About">Tells it from others of its kind; empty where there is one at most.</param>
/// <param name="Detail">In a sentence or two, for people.</param>
public sealed record Alarm(NoticeKind Kind, string About, string Detail);

/// <summary>
/// Where parts of the program say that something is wrong, and that it is no more: a backup that failed, a chain that
/// does not verify. The household is told of it as of every other notice.
/// </summary>
public sealed class Alarms(NpgsqlDataSource database, NewLines lines)
{
    /// <summary>Says that something is wrong; said again, it is told once.</summary>
    public Task RaiseAsync(string household, Alarm alarm, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(alarm);
        return ChangeAsync(household, $"""
            insert into {BookTables.Schema}.notice_alarm (tenant_id, kind, about, detail) values ($1, $2, $3, $4)
            on conflict (tenant_id, kind, about) do update set detail = excluded.detail
            """, cancellation, household, Stored.Word(alarm.Kind), alarm.About, alarm.Detail);
    }

    /// <summary>Says that it is wrong no more; nothing happens where it was not.</summary>
    public Task EndAsync(string household, NoticeKind kind, string about = "",
        CancellationToken cancellation = default) => ChangeAsync(household,
        $"delete from {BookTables.Schema}.notice_alarm where tenant_id = $1 and kind = $2 and about = $3",
        cancellation, household, Stored.Word(kind), about);

    /// <summary>What is wrong in a household's book.</summary>
    internal static async Task<IReadOnlyList<Alarm>> OfAsync(NpgsqlConnection connection, string household,
        CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand($"select kind, about, detail from {BookTables.Schema}.notice_alarm "
            + "where tenant_id = $1 order by kind, about", connection)
        { Parameters = { new() { Value = household } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        var alarms = new List<Alarm>();
        while (await reader.ReadAsync(cancellation).ConfigureAwait(false))
        {
            alarms.Add(new Alarm(Stored.Read<NoticeKind>(reader.GetString(0)), reader.GetString(1),
                reader.GetString(2)));
        }

        return alarms;
    }

    private async Task ChangeAsync(string household, string sql, CancellationToken cancellation,
        params object[] values)
    {
        await using var command = database.CreateCommand(sql);
        foreach (var value in values)
        {
            command.Parameters.Add(new NpgsqlParameter { Value = value });
        }

        if (await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false) > 0)
        {
            await NoticeBook.LookAgainAsync(database, household, cancellation).ConfigureAwait(false);
            lines.LookAgain(household);
        }
    }
}
