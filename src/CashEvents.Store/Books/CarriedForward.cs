using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>
/// A table of a figure of each holding at the end of each day that changed it, carried forward from day to day.
/// </summary>
/// <remarks>
/// One plan must serve every append: PostgreSQL makes a new one each time it takes that for cheaper. So the arrays
/// stand in selects of their own, where it does not see how long they are;
/// the days to carry into are asked for place by place, between two ends, and are found by their key however long the
/// book is.
/// </remarks>
internal sealed class CarriedForward(string table)
{
    // The changes are carried into their day and all later ones. A day that had no row yet opens with the closing
    // before it.
    private readonly string _carry = $"""
        with change as (select * from unnest((select $1), (select $2), (select $3), (select $4), (select $5)) as c(household, compartment, holding, day, amount)),
             place as (select household, compartment, holding, min(day) as since from change group by 1, 2, 3)
        insert into {BookTables.Schema}.{table} as t (tenant_id, compartment, holding, day, closing)
        select p.household, p.compartment, p.holding, o.day, o.opening + (select sum(c.amount) from change c where c.household = p.household and c.compartment = p.compartment and c.holding = p.holding and c.day <= o.day)
        from place p, lateral (
            select d.day, 0 as opening from {BookTables.Schema}.{table} d
            where d.tenant_id = p.household and d.compartment = p.compartment and d.holding = p.holding and d.day >= p.since and d.day < 'infinity'
            union all
            select c.day, coalesce(
                (select b.closing from {BookTables.Schema}.{table} b
                 where b.tenant_id = p.household and b.compartment = p.compartment and b.holding = p.holding and b.day < c.day
                 order by b.day desc limit 1), 0)
            from change c
            where c.household = p.household and c.compartment = p.compartment and c.holding = p.holding and not exists (
                select from {BookTables.Schema}.{table} e where e.tenant_id = p.household and e.compartment = p.compartment and e.holding = p.holding and e.day = c.day)) o
        on conflict (tenant_id, compartment, holding, day) do update set closing = t.closing + excluded.closing
        """;

    /// <summary>Adds changes to their days and to every later one.</summary>
    public void Carry(NpgsqlBatch batch,
        IEnumerable<(string Household, string Compartment, string Holding, DateOnly Day, long Amount)> changes)
    {
        var days = changes
            .GroupBy(c => (c.Household, c.Compartment, c.Holding, c.Day))
            .Select(g => (g.Key.Household, g.Key.Compartment, g.Key.Holding, g.Key.Day, Amount: g.Sum(c => c.Amount)))
            .ToList();
        if (days.Count > 0)
        {
            batch.Add(_carry,
                [days.Select(c => c.Household).ToArray(),
                days.Select(c => c.Compartment).ToArray(),
                days.Select(c => c.Holding).ToArray(),
                days.Select(c => c.Day).ToArray(),
                days.Select(c => c.Amount).ToArray()]);
        }
    }
}
