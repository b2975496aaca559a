using CashEvents.Domain.Books;
using CashEvents.Domain.Corrections;
using CashEvents.Domain.Keys;
using CashEvents.Domain.Plans;
using CashEvents.Store.Lines;
using JasperFx.Events;
using Marten;
using Marten.Events.Projections;

namespace CashEvents.Store.Books;

/// <summary>Writes what is read from the book beside its lines, in the same transaction: a handful of statements however many lines come together.</summary>
internal sealed class BookProjection : IProjection
{
    private const string InsertLines = $"""
        insert into {BookTables.Schema}.line (tenant_id, line, kind, written_by, occurred_on)
        select ?, * from unnest(?, ?, ?, ?)
        """;

    private const string InsertTrackerRows = $"""
        insert into {BookTables.Schema}.tracker_row (tenant_id, compartment, line, leg, kind, holding, amount, occurred_on, description)
        select ?, * from unnest(?, ?, ?, ?, ?, ?, ?, ?)
        """;

    // A day that had no row yet opens with the closing before it; the changes are then carried into that day and all later ones.
    private const string OpenDays = $"""
        insert into {BookTables.Schema}.day_closing (tenant_id, compartment, holding, day, closing)
        select t.id, n.compartment, n.holding, n.day, coalesce(
            (select b.closing from {BookTables.Schema}.day_closing b
             where b.tenant_id = t.id and b.compartment = n.compartment and b.holding = n.holding and b.day < n.day
             order by b.day desc limit 1), 0)
        from (select ? as id) t, unnest(?, ?, ?) as n(compartment, holding, day)
        on conflict do nothing
        """;

    private const string CarryChanges = $"""
        with change as (select * from unnest(?, ?, ?, ?) as c(compartment, holding, day, amount)),
             place as (select compartment, holding, min(day) as since from change group by 1, 2)
        update {BookTables.Schema}.day_closing d
        set closing = d.closing + (select sum(c.amount) from change c where c.compartment = d.compartment and c.holding = d.holding and c.day <= d.day)
        from place p
        where d.tenant_id = ? and d.compartment = p.compartment and d.holding = p.holding and d.day >= p.since
        """;

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

    private const string InsertKey = $"insert into {BookTables.Schema}.key (hash, tenant_id, name, role, movements, revoked) values (?, ?, ?, ?, ?, false)";

    private const string RevokeKey = $"update {BookTables.Schema}.key set revoked = true where tenant_id = ? and name = ?";

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
        operations.QueueSqlCommand(
            InsertLines, household,
            lines.Select(l => l.Version).ToArray(),
            lines.Select(l => LineKinds.Of((IBookEvent)l.Data)).ToArray(),
            lines.Select(l => l.UserName ?? "").ToArray(),
            lines.Select(l => (l.Data as IDatedEvent)?.OccurredOn).ToArray());

        var rows = lines.SelectMany(TrackerRow.Of).ToList();
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

        var changes = rows.Where(r => r.Amount is not null)
            .GroupBy(r => (r.Compartment, Holding: r.Holding!, Day: r.OccurredOn!.Value))
            .Select(g => (g.Key.Compartment, g.Key.Holding, g.Key.Day, Amount: g.Sum(r => r.Amount!.Value)))
            .OrderBy(c => c.Day)
            .ToList();
        if (changes.Count > 0)
        {
            var compartments = changes.Select(c => c.Compartment).ToArray();
            var holdings = changes.Select(c => c.Holding).ToArray();
            var days = changes.Select(c => c.Day).ToArray();
            operations.QueueSqlCommand(OpenDays, household, compartments, holdings, days);
            operations.QueueSqlCommand(CarryChanges, compartments, holdings, days, changes.Select(c => c.Amount).ToArray(), household);
        }

        var totals = lines.Select(l => l.Data).OfType<IMovement>()
            .SelectMany(m => Domain.Columns.Columns.Of(m).Select(c => (m.OccurredOn, c.Place.Compartment, Holding: Stored.Word(c.Place.Holding), Column: Stored.Word(c.Column), c.Change)))
            .GroupBy(t => (t.OccurredOn, t.Compartment, t.Holding, t.Column))
            .Select(g => (g.Key, Change: g.Sum(t => t.Change.Minor)))
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

        foreach (var corrections in lines.Where(l => l.Data is IMovement { Corrects: not null }).GroupBy(l => l.Data is Reversed))
        {
            operations.QueueSqlCommand(
                corrections.Key ? MarkReversed : MarkAmended,
                corrections.Select(l => ((IMovement)l.Data).Corrects!.Value.Line).ToArray(),
                corrections.Select(l => l.Version).ToArray(),
                household);
        }

        foreach (var line in lines)
        {
            if (line.Data is PlanSet plan)
            {
                operations.QueueSqlCommand(SetPlan, household, plan.From, line.Version, plan.Amounts.Keys.ToArray(), plan.Amounts.Values.Select(a => a.Minor).ToArray());
            }
            else if (line.Data is KeyIssued issued)
            {
                operations.QueueSqlCommand(InsertKey, issued.Hash, household, issued.Name, Stored.Word(issued.Role), issued.Movements.Select(Stored.Word).ToArray());
            }
            else if (line.Data is KeyRevoked revoked)
            {
                operations.QueueSqlCommand(RevokeKey, household, revoked.Name);
            }
        }
    }

    private sealed record TrackerRow(string Compartment, long Line, short Leg, string Kind, string? Holding, long? Amount, DateOnly? OccurredOn, string Description)
    {
        public static IEnumerable<TrackerRow> Of(IEvent line)
        {
            var kind = LineKinds.Of((IBookEvent)line.Data);
            return line.Data switch
            {
                IMovement movement => movement.Postings.Select((p, leg) => new TrackerRow(
                    p.Place.Compartment, line.Version, (short)leg, kind, Stored.Word(p.Place.Holding), p.Amount.Minor, movement.OccurredOn, movement.Description)),
                IBookEvent other => other.About.Select(compartment => new TrackerRow(
                    compartment, line.Version, 0, kind, null, null, (other as IDatedEvent)?.OccurredOn, "")),
                _ => [],
            };
        }
    }
}

/// <summary>How enumerations stand in the tables: the same words as in the JSON.</summary>
internal static class Stored
{
    public static string Word<T>(T value) where T : struct, Enum
    {
        var name = value.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }

    public static T Read<T>(string word) where T : struct, Enum => Enum.Parse<T>(word, ignoreCase: true);
}
