using Npgsql;
using NpgsqlTypes;

namespace CashEvents.Store.Rebuilds;

/// <summary>A column of a table that is made from the lines.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Type">PostgreSQL's type.</param>
/// <param name="Read">How it is read, where not as it stands.</param>
/// <param name="Write">How it is written, where not as it is sent.</param>
internal sealed record RebuiltColumn(string Name, NpgsqlDbType Type, string? Read = null, string? Write = null);

/// <summary>
/// A table that is made from the lines: how to find where it differs from what the lines give, and how to make it so.
/// </summary>
/// <param name="Name">The table's name.</param>
/// <param name="Keys">How many of its columns, from the first, name a row.</param>
/// <param name="Columns">Its columns beside the tenant.</param>
internal sealed record RebuiltTable(string Name, int Keys, params RebuiltColumn[] Columns)
{
    public static RebuiltTable Lines { get; } = new("line", 1,
        new("line", NpgsqlDbType.Bigint), new("kind", NpgsqlDbType.Text), new("written_by", NpgsqlDbType.Text),
        new("occurred_on", NpgsqlDbType.Date), new("corrects", NpgsqlDbType.Bigint))
    { Seed = "line" };

    public static RebuiltTable SheetRows { get; } = new("tracker_row", 3,
        new("compartment", NpgsqlDbType.Text), new("line", NpgsqlDbType.Bigint), new("leg", NpgsqlDbType.Smallint),
        new("kind", NpgsqlDbType.Text),
        new("holding", NpgsqlDbType.Text), new("amount", NpgsqlDbType.Bigint), new("occurred_on", NpgsqlDbType.Date),
        new("description", NpgsqlDbType.Text))
    { Seed = $"line * {Fingerprints.Legs} + leg" };

    /// <summary>The part of the lines' rows that later lines write.</summary>
    public static RebuiltTable Corrections { get; } = new("line", 1,
        new("line", NpgsqlDbType.Bigint), new("reversed_by", NpgsqlDbType.Bigint),
        new("amended_by", NpgsqlDbType.Bigint))
    { Only = "(reversed_by is not null or amended_by is not null)" };

    public static RebuiltTable DayClosings { get; } = CarriedForward("day_closing");

    public static RebuiltTable SpentToDates { get; } = CarriedForward("spent_to_date");

    public static RebuiltTable DayTotals { get; } = new("day_total", 4,
        new("day", NpgsqlDbType.Date), new("compartment", NpgsqlDbType.Text), new("holding", NpgsqlDbType.Text),
        new("sheet_column", NpgsqlDbType.Text), new("change", NpgsqlDbType.Bigint));

    public static RebuiltTable PlannedAmounts { get; } = new("planned_amount", 2,
        new("compartment", NpgsqlDbType.Text), new("from_day", NpgsqlDbType.Date), new("amount", NpgsqlDbType.Bigint),
        new("line", NpgsqlDbType.Bigint));

    // Movements are a list, and lists of lists can't be sent: they go as one word.
    public static RebuiltTable HeldKeys { get; } = new("key", 1,
        new("hash", NpgsqlDbType.Text), new("name", NpgsqlDbType.Text), new("role", NpgsqlDbType.Text),
        new("movements", NpgsqlDbType.Text, "array_to_string(movements, ',')", "string_to_array(movements, ',')"),
        new("revoked", NpgsqlDbType.Boolean), new("expires", NpgsqlDbType.Bigint))
    { Unique = "hash" };

    /// <summary>The tables that grow with days, plans and keys, and are taken whole.</summary>
    public static IReadOnlyList<RebuiltTable> Whole { get; } =
        [Corrections, DayClosings, DayTotals, SpentToDates, PlannedAmounts, HeldKeys];

    /// <summary>Which of its rows are meant, when not all of a household's.</summary>
    public string? Only { get; init; }

    /// <summary>What makes a row unique, when not the tenant and the keys.</summary>
    public string? Unique { get; init; }

    /// <summary>The seed that tells its rows' hashes apart, where not the hash of the keys.</summary>
    public string? Seed { get; init; }

    /// <summary>
    /// Sums of its rows' hashes, as <see cref="Fingerprints"/> makes them: by handfuls of lines where a column is named
    /// <c>line</c>, else of all.
    /// </summary>
    public NpgsqlCommand Sums(NpgsqlConnection connection, string household, long upTo, long handful) => new($"""
        select {(IsByLine ? "(line - 1) / $4" : "0::bigint")}, coalesce(sum(hash_record_extended({Hashed}), 0)
        from {BookTables.Schema}.{Name} l where {Mine} and $4::bigint > 0{(Only is null ? "" : $" and {Only}")}
        {(IsByLine ? "group by 1" : "")}
        """, connection)
    {
        CommandTimeout = 0,
        Parameters =
        { new() { Value = household }, new() { Value = 0L }, new() { Value = upTo }, new() { Value = handful } }
    };

    /// <summary>The rows that differ: where a column is named <c>line</c>, of a range of lines.</summary>
    public NpgsqlCommand Compare(NpgsqlConnection connection, string household, RebuiltRows rows) =>
        Command(connection, household, rows, $"""
        select to_jsonb(n), to_jsonb(l)
        from {New} full join ({Live}) l on {SameKeys}
        where row({Each(Columns, c => $"n.{c}")}) is distinct from row({Each(Columns, c => $"l.{c}")})
        limit $4
        """);

    /// <summary>Takes out what should not be there: the row, or what later lines wrote in it.</summary>
    public NpgsqlCommand TakeOut(NpgsqlConnection connection, string household, RebuiltRows rows) =>
        Command(connection, household, rows, Only is null
        ? $"""
        delete from {Stored} l
        where {Mine} and not exists (select from {New} where {SameKeys})
        """
        : $"""
        update {Stored} l set {Each(Figures, c => $"{c} = null")}
        where {Mine} and {Only} and not exists (select from {New} where {SameKeys})
        """);

    /// <summary>Puts in what is missing and mends what differs.</summary>
    public NpgsqlCommand PutIn(NpgsqlConnection connection, string household, RebuiltRows rows) =>
        Command(connection, household, rows, Only is null
        ? $"""
        insert into {Stored} as l (tenant_id, {Each(Columns, c => c)})
        select $1, {string.Join(", ", Columns.Select(c => c.Write ?? c.Name))} from {New}
        on conflict ({Unique ?? $"tenant_id, {Each(Columns[..Keys], c => c)}"})
        do update set {Each(Figures, c => $"{c} = excluded.{c}")}
        """
        : $"""
        update {Stored} l set {Each(Figures, c => $"{c} = n.{c}")}
        from {New}
        where {Mine} and {SameKeys}
        """);

    private static RebuiltTable CarriedForward(string name) => new(name, 3,
        new("compartment", NpgsqlDbType.Text), new("holding", NpgsqlDbType.Text), new("day", NpgsqlDbType.Date),
        new("closing", NpgsqlDbType.Bigint));

    private string Stored => $"{BookTables.Schema}.{Name}";

    // What the lines give, sent as an array for each column behind the four parameters that every command has.
    private string New =>
        $"unnest({string.Join(", ", Columns.Select((_, i) => $"${i + 5}"))}) as n({Each(Columns, c => c)})";

    private string SameKeys => Each(Columns[..Keys], c => $"n.{c} = l.{c}", " and ");

    // The columns that say something of the row that the keys name.
    private RebuiltColumn[] Figures => Columns[Keys..];

    private bool IsByLine => this == Lines || this == SheetRows;

    // The household's rows; where lines name them, those of the range.
    private string Mine => Name is "line" or "tracker_row"
        ? "l.tenant_id = $1 and l.line > $2 and l.line <= $3"
        : "l.tenant_id = $1";

    private string Hashed => Seed is null
        ? $"row({Words(Columns[Keys..])}), hash_record_extended(row({Words(Columns[..Keys])}), 0))"
        : $"row({Words(Columns.Where(c => !Seed.Contains(c.Name, StringComparison.Ordinal)))}), {Seed})";

    private static string Words(IEnumerable<RebuiltColumn> columns) =>
        string.Join(", ", columns.Select(c => c.Read ?? c.Name));

    private string Live => $"""
        select {string.Join(", ", Columns.Select(c => c.Read is null ? c.Name : $"{c.Read} as {c.Name}"))}
        from {Stored} l
        where {Mine}{(Only is null ? "" : $" and {Only}")}
        """;

    private static string Each(IEnumerable<RebuiltColumn> columns, Func<string, string> form,
        string separator = ", ") => string.Join(separator, columns.Select(c => form(c.Name)));

    private NpgsqlCommand Command(NpgsqlConnection connection, string household, RebuiltRows rows, string sql)
    {
        var command = new NpgsqlCommand(sql, connection)
        {
            CommandTimeout = 0,
            Parameters =
            {
                new() { Value = household },
                new() { Value = rows.After },
                new() { Value = rows.UpTo },
                new() { Value = (long)RebuiltRows.MostToldAtOnce },
            },
        };
        foreach (var (column, values) in Columns.Zip(rows.Values))
        {
            command.Parameters.Add(new() { Value = values, NpgsqlDbType = NpgsqlDbType.Array | column.Type });
        }

        return command;
    }
}

/// <summary>What the lines give for a table: all of it, or the rows of a range of lines.</summary>
/// <param name="Table">The table.</param>
/// <param name="After">The rows of lines after this number.</param>
/// <param name="UpTo">And up to this one.</param>
/// <param name="Values">The values, an array for each column.</param>
internal sealed record RebuiltRows(RebuiltTable Table, long After, long UpTo, params Array[] Values)
{
    /// <summary>How many rows.</summary>
    public int Count => Values[0].Length;

    /// <summary>Differences that are told of one table or range; more are only mended.</summary>
    public const int MostToldAtOnce = 1000;
}
