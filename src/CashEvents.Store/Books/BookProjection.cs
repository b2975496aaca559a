using System.Collections.Frozen;
using System.Text.Json;
using JasperFx.Events;
using Marten;
using Marten.Events.Projections;

namespace CashEvents.Store.Books;

/// <summary>
/// Writes what is read from the book beside its lines, in the same transaction: a handful of statements however many
/// lines come together.
/// </summary>
internal sealed class BookProjection : IProjection
{
    private const string InsertLines = $"""
        insert into {BookTables.Schema}.line (tenant_id, line, kind, written_by, occurred_on, corrects)
        select ?, * from unnest(?, ?, ?, ?, ?)
        """;

    private const string InsertTrackerRows = $"""
        insert into {BookTables.Schema}.tracker_row (tenant_id, compartment, line, leg, kind, holding, amount, occurred_on, description)
        select ?, * from unnest(?, ?, ?, ?, ?, ?, ?, ?)
        """;

    private static readonly CarriedForward _dayClosings = new("day_closing");

    private static readonly CarriedForward _spentToDates = new("spent_to_date");

    private const string AddTotals = $"""
        insert into {BookTables.Schema}.day_total as t (tenant_id, day, compartment, holding, sheet_column, change)
        select ?, * from unnest(?, ?, ?, ?, ?)
        on conflict (tenant_id, day, compartment, holding, sheet_column) do update set change = t.change + excluded.change
        """;

    private const string MarkReversed = $"""
        update {BookTables.Schema}.line l set reversed_by = c.by from unnest(?, ?) as c(line, by) where l.tenant_id = ? and l.line = c.line
        """;

    private const string MarkAmended = $"""
        update {BookTables.Schema}.line l set amended_by = c.by from unnest(?, ?) as c(line, by) where l.tenant_id = ? and l.line = c.line
        """;

    private const string SetPlan = $"""
        insert into {BookTables.Schema}.planned_amount (tenant_id, compartment, from_day, amount, line)
        select ?, p.compartment, ?, p.amount, ? from unnest(?, ?) as p(compartment, amount)
        on conflict (tenant_id, compartment, from_day) do update set amount = excluded.amount, line = excluded.line
        """;

    private const string InsertKey =
        $"insert into {BookTables.Schema}.key (hash, tenant_id, name, role, movements, revoked, expires) values (?, ?, "
            + $"?, ?, ?, false, nullif(?, 0))";

    private const string RevokeKey =
        $"update {BookTables.Schema}.key set revoked = true where tenant_id = ? and name = ?";

    // Every server forgets what it knows of keys, in the moment in which the line stands.
    private const string TellRevoked = $"select pg_notify('{Announcements.OfKeys}', '')";

    public Task ApplyAsync(IDocumentOperations operations, IReadOnlyList<IEvent> events, CancellationToken cancellation)
    {
        foreach (var household in events.GroupBy(e => e.TenantId))
        {
            Apply(operations, household.Key, [.. household]);
        }

        return Task.CompletedTask;
    }

    private static void Apply(IDocumentOperations operations, string household, List<IEvent> lines)
    {
        var movements = lines.Select(l => l.Data).OfType<IMovement>().ToList();
        InsertTheLines(operations, household, lines);
        CarryRows(operations, household, lines);
        CarryAnalysis(operations, household, movements);
        MarkCorrected(operations, household, lines);
        SetPlansAndKeys(operations, household, lines);
    }

    private static void InsertTheLines(IDocumentOperations operations, string household, List<IEvent> lines) =>
        operations.QueueSqlCommand(
            InsertLines, household,
            lines.Select(l => l.Version).ToArray(),
            lines.Select(l => LineKinds.Of((IBookEvent)l.Data)).ToArray(),
            lines.Select(l => l.UserName ?? "").ToArray(),
            lines.Select(l => (l.Data as IDatedEvent)?.OccurredOn).ToArray(),
            lines.Select(l => (l.Data as IMovement)?.Corrects?.Line).ToArray());

    private static void CarryRows(IDocumentOperations operations, string household, List<IEvent> lines)
    {
        var rows = lines.SelectMany(l => StoredRow.Of(l.Version, (IBookEvent)l.Data)).ToList();
        if (rows.Count > 0)
        {
            operations.QueueSqlCommand(
                InsertTrackerRows, household,
                rows.Select(r => r.Compartment).ToArray(),
                rows.Select(r => r.Line).ToArray(),
                rows.Select(r => r.Leg).ToArray(),
                rows.Select(r => r.Kind).ToArray(),
                rows.Select(r => r.Holding).ToArray(),
                rows.Select(r => r.Amount).ToArray(),
                rows.Select(r => r.OccurredOn).ToArray(),
                rows.Select(r => r.Description).ToArray());
        }

        _dayClosings.Carry(operations, household,
            rows.Where(r => r.Amount is not null)
                .Select(r => (r.Compartment, r.Holding!, r.OccurredOn!.Value, r.Amount!.Value)));
    }

    private static void CarryAnalysis(IDocumentOperations operations, string household, List<IMovement> movements)
    {
        var changes = movements.SelectMany(m => Analysis.Of(m).Select(c => (m.OccurredOn, Change: c))).ToList();
        _spentToDates.Carry(operations, household,
            changes.Where(c => c.Change.Column is Column.Spent or Column.Refunded)
                .Select(c => (c.Change.Place.Compartment, Stored.Word(c.Change.Place.Holding), c.OccurredOn,
                    -c.Change.Change.Minor)));

        var totals = changes
            .GroupBy(c => (c.OccurredOn, c.Change.Place.Compartment, Holding: Stored.Word(c.Change.Place.Holding),
                Column: Stored.Word(c.Change.Column)))
            .Select(g => (g.Key, Change: g.Sum(c => c.Change.Change.Minor)))
            .ToList();
        if (totals.Count > 0)
        {
            operations.QueueSqlCommand(
                AddTotals, household,
                totals.Select(t => t.Key.OccurredOn).ToArray(),
                totals.Select(t => t.Key.Compartment).ToArray(),
                totals.Select(t => t.Key.Holding).ToArray(),
                totals.Select(t => t.Key.Column).ToArray(),
                totals.Select(t => t.Change).ToArray());
        }
    }

    // A sweep, or a spend whose rest comes from elsewhere, stands in the stead of a line with several of its own: the
    // first is named.
    private static void MarkCorrected(IDocumentOperations operations, string household, List<IEvent> lines)
    {
        foreach (var byKind in lines.Where(l => l.Data is IMovement { Corrects: not null })
            .GroupBy(l => l.Data is Reversed))
        {
            var corrections = byKind.GroupBy(l => ((IMovement)l.Data).Corrects!.Value.Line).ToList();
            operations.QueueSqlCommand(
                byKind.Key ? MarkReversed : MarkAmended,
                corrections.Select(c => c.Key).ToArray(),
                corrections.Select(c => c.Min(l => l.Version)).ToArray(),
                household);
        }
    }

    private static void SetPlansAndKeys(IDocumentOperations operations, string household, List<IEvent> lines)
    {
        foreach (var line in lines)
        {
            switch (line.Data)
            {
                case PlanSet plan:
                    operations.QueueSqlCommand(SetPlan, household, plan.From, line.Version,
                        plan.Amounts.Keys.ToArray(), plan.Amounts.Values.Select(a => a.Minor).ToArray());
                    break;
                case KeyIssued issued:
                    operations.QueueSqlCommand(InsertKey, issued.Hash, household, issued.Name,
                        Stored.Word(issued.Role), issued.Movements.Select(Stored.Word).ToArray(),
                        issued.Expires?.ToUnixTimeMilliseconds() ?? 0L);
                    break;
                case KeyRevoked revoked:
                    operations.QueueSqlCommand(RevokeKey, household, revoked.Name);
                    operations.QueueSqlCommand(TellRevoked);
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
