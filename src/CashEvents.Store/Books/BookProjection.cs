using System.Collections.Frozen;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>
/// Writes what is read from the books beside their lines, in the same transaction: a handful of statements however many
/// lines of however many households come together.
/// </summary>
internal static class BookProjection
{
    private const string InsertLines = $"""
        insert into {BookTables.Schema}.line (tenant_id, line, kind, written_by, occurred_on, corrects)
        select * from unnest($1, $2, $3, $4, $5, $6)
        """;

    private const string InsertTrackerRows = $"""
        insert into {BookTables.Schema}.tracker_row (tenant_id, compartment, line, leg, kind, holding, amount, occurred_on, description)
        select * from unnest($1, $2, $3, $4, $5, $6, $7, $8, $9)
        """;

    private static readonly CarriedForward _dayClosings = new("day_closing");

    private static readonly CarriedForward _spentToDates = new("spent_to_date");

    private const string AddTotals = $"""
        insert into {BookTables.Schema}.day_total as t (tenant_id, day, compartment, holding, sheet_column, change)
        select * from unnest($1, $2, $3, $4, $5, $6)
        on conflict (tenant_id, day, compartment, holding, sheet_column) do update set change = t.change + excluded.change
        """;

    private const string MarkReversed = $"""
        update {BookTables.Schema}.line l set reversed_by = c.by from unnest($1, $2, $3) as c(household, line, by) where l.tenant_id = c.household and l.line = c.line
        """;

    private const string MarkAmended = $"""
        update {BookTables.Schema}.line l set amended_by = c.by from unnest($1, $2, $3) as c(household, line, by) where l.tenant_id = c.household and l.line = c.line
        """;

    private const string SetPlan = $"""
        insert into {BookTables.Schema}.planned_amount (tenant_id, compartment, from_day, amount, line)
        select $1, p.compartment, $2, p.amount, $3 from unnest($4, $5) as p(compartment, amount)
        on conflict (tenant_id, compartment, from_day) do update set amount = excluded.amount, line = excluded.line
        """;

    private const string InsertKey =
        $"insert into {BookTables.Schema}.key (hash, tenant_id, name, role, movements, revoked, expires) values ($1, "
            + $"$2, $3, $4, $5, false, nullif($6, 0))";

    private const string RevokeKey =
        $"update {BookTables.Schema}.key set revoked = true where tenant_id = $1 and name = $2";

    // Every server forgets what it knows of keys, in the moment in which the line stands.
    private const string TellRevoked = $"select pg_notify('{Announcements.OfKeys}', '')";

    /// <summary>Adds the statements for lines that are appended in the same batch.</summary>
    public static void Add(NpgsqlBatch batch, IReadOnlyList<AppendedLine> lines)
    {
        InsertTheLines(batch, lines);
        CarryRows(batch, lines);
        CarryAnalysis(batch, lines);
        MarkCorrected(batch, lines);
        SetPlansAndKeys(batch, lines);
    }

    private static void InsertTheLines(NpgsqlBatch batch, IReadOnlyList<AppendedLine> lines) => batch.Add(InsertLines,
        [lines.Select(l => l.Household).ToArray(),
        lines.Select(l => l.Number).ToArray(),
        lines.Select(l => LineKinds.Of(l.Event)).ToArray(),
        lines.Select(l => l.By).ToArray(),
        lines.Select(l => (l.Event as IDatedEvent)?.OccurredOn).ToArray(),
        lines.Select(l => (l.Event as IMovement)?.Corrects?.Line).ToArray()]);

    private static void CarryRows(NpgsqlBatch batch, IReadOnlyList<AppendedLine> lines)
    {
        var rows = lines.SelectMany(l => StoredRow.Of(l.Number, l.Event), (l, Row) => (l.Household, Row)).ToList();
        if (rows.Count > 0)
        {
            batch.Add(InsertTrackerRows,
                [rows.Select(r => r.Household).ToArray(),
                rows.Select(r => r.Row.Compartment).ToArray(),
                rows.Select(r => r.Row.Line).ToArray(),
                rows.Select(r => r.Row.Leg).ToArray(),
                rows.Select(r => r.Row.Kind).ToArray(),
                rows.Select(r => r.Row.Holding).ToArray(),
                rows.Select(r => r.Row.Amount).ToArray(),
                rows.Select(r => r.Row.OccurredOn).ToArray(),
                rows.Select(r => r.Row.Description).ToArray()]);
        }

        _dayClosings.Carry(batch, rows.Where(r => r.Row.Amount is not null)
            .Select(r => (r.Household, r.Row.Compartment, r.Row.Holding!, r.Row.OccurredOn!.Value,
                r.Row.Amount!.Value)));
    }

    private static void CarryAnalysis(NpgsqlBatch batch, IReadOnlyList<AppendedLine> lines)
    {
        var changes = lines.Where(l => l.Event is IMovement).SelectMany(l => Analysis.Of((IMovement)l.Event),
            (l, Change) => (l.Household, ((IMovement)l.Event).OccurredOn, Change)).ToList();
        _spentToDates.Carry(batch, changes.Where(c => c.Change.Column is Column.Spent or Column.Refunded)
            .Select(c => (c.Household, c.Change.Place.Compartment, Stored.Word(c.Change.Place.Holding), c.OccurredOn,
                -c.Change.Change.Minor)));

        var totals = changes
            .GroupBy(c => (c.Household, c.OccurredOn, c.Change.Place.Compartment,
                Holding: Stored.Word(c.Change.Place.Holding), Column: Stored.Word(c.Change.Column)))
            .Select(g => (g.Key, Change: g.Sum(c => c.Change.Change.Minor)))
            .ToList();
        if (totals.Count > 0)
        {
            batch.Add(AddTotals,
                [totals.Select(t => t.Key.Household).ToArray(),
                totals.Select(t => t.Key.OccurredOn).ToArray(),
                totals.Select(t => t.Key.Compartment).ToArray(),
                totals.Select(t => t.Key.Holding).ToArray(),
                totals.Select(t => t.Key.Column).ToArray(),
                totals.Select(t => t.Change).ToArray()]);
        }
    }

    // A sweep, or a spend whose rest comes from elsewhere, stands in the stead of a line with several of its own: the
    // first is named.
    private static void MarkCorrected(NpgsqlBatch batch, IReadOnlyList<AppendedLine> lines)
    {
        foreach (var byKind in lines.Where(l => l.Event is IMovement { Corrects: not null })
            .GroupBy(l => l.Event is Reversed))
        {
            var corrections = byKind.GroupBy(l => (l.Household, ((IMovement)l.Event).Corrects!.Value.Line)).ToList();
            batch.Add(byKind.Key ? MarkReversed : MarkAmended,
                [corrections.Select(c => c.Key.Household).ToArray(),
                corrections.Select(c => c.Key.Line).ToArray(),
                corrections.Select(c => c.Min(l => l.Number)).ToArray()]);
        }
    }

    private static void SetPlansAndKeys(NpgsqlBatch batch, IReadOnlyList<AppendedLine> lines)
    {
        foreach (var line in lines)
        {
            switch (line.Event)
            {
                case PlanSet plan:
                    batch.Add(SetPlan, [line.Household, plan.From, line.Number, plan.Amounts.Keys.ToArray(),
                        plan.Amounts.Values.Select(a => a.Minor).ToArray()]);
                    break;
                case KeyIssued issued:
                    batch.Add(InsertKey, [issued.Hash, line.Household, issued.Name, Stored.Word(issued.Role),
                        issued.Movements.Select(Stored.Word).ToArray(),
                        issued.Expires?.ToUnixTimeMilliseconds() ?? 0L]);
                    break;
                case KeyRevoked revoked:
                    batch.Add(RevokeKey, [line.Household, revoked.Name]);
                    batch.Add(TellRevoked, []);
                    break;
                default:
                    break;
            }
        }
    }
}

/// <summary>A row of a tracker sheet, as it is stored.</summary>
internal readonly record struct StoredRow(string Compartment, long Line, short Leg, string Kind, string? Holding,
    long? Amount, DateOnly? OccurredOn, string Description)
{
    /// <summary>
    /// The rows of a line: one for each holding that it changes, and one without amount for a compartment that it is
    /// only about.
    /// </summary>
    public static IEnumerable<StoredRow> Of(long number, IBookEvent line)
    {
        var kind = LineKinds.Of(line);
        return line is IMovement movement
            ? movement.Postings.Select((p, leg) => new StoredRow(
                p.Place.Compartment, number, (short)leg, kind, Stored.Word(p.Place.Holding), p.Amount.Minor,
                movement.OccurredOn, movement.Description))
            : line.About.Select(compartment =>
                new StoredRow(compartment, number, 0, kind, null, null, (line as IDatedEvent)?.OccurredOn, ""));
    }
}

/// <summary>How enumerations stand in the tables: the same words as in the JSON.</summary>
internal static class Stored
{
    public static string Word<T>(T value) where T : struct, Enum => Words<T>.Of[value];

    public static T Read<T>(string word) where T : struct, Enum => Words<T>.Values[word];

    private static class Words<T> where T : struct, Enum
    {
        public static readonly FrozenDictionary<T, string> Of =
            Enum.GetValues<T>().ToFrozenDictionary(v => v, v => JsonNamingPolicy.CamelCase.ConvertName(v.ToString()));
        public static readonly FrozenDictionary<string, T> Values = Of.ToFrozenDictionary(w => w.Value, w => w.Key);
    }
}
