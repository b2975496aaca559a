using Marten;

namespace CashEvents.Store.Books;

/// <summary>A table of a figure of each holding at the end of each day that changed it, carried forward from day to day.</summary>
internal sealed class CarriedForward(string table)
{
    // A day that had no row yet opens with the closing before it; the changes are then carried into that day and all later ones.
    private readonly string _openDays = $"""
        insert into {BookTables.Schema}.{table} (tenant_id, compartment, holding, day, closing)
        select t.id, n.compartment, n.holding, n.day, coalesce(
            (select b.closing from {BookTables.Schema}.{table} b
             where b.tenant_id = t.id and b.compartment = n.compartment and b.holding = n.holding and b.day < n.day
             order by b.day desc limit 1), 0)
        from (select ? as id) t, unnest(?, ?, ?) as n(compartment, holding, day)
        on conflict do nothing
        """;

    private readonly string _carryChanges = $"""
        with change as (select * from unnest(?, ?, ?, ?) as c(compartment, holding, day, amount)),
             place as (select compartment, holding, min(day) as since from change group by 1, 2)
        update {BookTables.Schema}.{table} d
        set closing = d.closing + (select sum(c.amount) from change c where c.compartment = d.compartment and c.holding = d.holding and c.day <= d.day)
        from place p
        where d.tenant_id = ? and d.compartment = p.compartment and d.holding = p.holding and d.day >= p.since
        """;

    /// <summary>Adds changes to their days and to every later one.</summary>
    public void Carry(IDocumentOperations operations, string household, IEnumerable<(string Compartment, string Holding, DateOnly Day, long Amount)> changes)
    {
        var days = changes
            .GroupBy(c => (c.Compartment, c.Holding, c.Day))
            .Select(g => (g.Key.Compartment, g.Key.Holding, g.Key.Day, Amount: g.Sum(c => c.Amount)))
            .OrderBy(c => c.Day)
            .ToList();
        if (days.Count == 0)
        {
            return;
        }

        var compartments = days.Select(c => c.Compartment).ToArray();
        var holdings = days.Select(c => c.Holding).ToArray();
        var on = days.Select(c => c.Day).ToArray();
        operations.QueueSqlCommand(_openDays, household, compartments, holdings, on);
        operations.QueueSqlCommand(_carryChanges, compartments, holdings, on, days.Select(c => c.Amount).ToArray(), household);
    }
}
