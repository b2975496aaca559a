namespace CashEvents.Store.Books;

/// <summary>
/// What was spent up to each day, where a day before the last is changed: it is carried forward from day to day.
/// </summary>
/// <remarks>
/// One plan must serve every append: PostgreSQL makes a new one each time it takes that for cheaper. So the arrays
/// stand in selects of their own, where it does not see how long they are;
/// the days to carry into are asked for place by place, between two ends, and are found by their key however long the
/// book is.
/// </remarks>
internal static class CarriedForward
{
    private const string Table = $"{BookTables.Schema}.spent_to_date";

    /// <summary>
    /// Takes households, compartments, holdings, days and amounts, each day of a place once. The changes are carried
    /// into their day and all later ones. A day that had no row yet opens with the closing before it.
    /// </summary>
    public const string Spent = $"""
        with change as (select * from unnest((select $1), (select $2), (select $3), (select $4), (select $5)) as c(household, compartment, holding, day, amount)),
             place as (select household, compartment, holding, min(day) as since from change group by 1, 2, 3)
        insert into {Table} as t (tenant_id, compartment, holding, day, closing)
        select p.household, p.compartment, p.holding, o.day, o.opening + (select sum(c.amount) from change c where c.household = p.household and c.compartment = p.compartment and c.holding = p.holding and c.day <= o.day)
        from place p, lateral (
            select d.day, 0 as opening from {Table} d
            where d.tenant_id = p.household and d.compartment = p.compartment and d.holding = p.holding and d.day >= p.since and d.day < 'infinity'
            union all
            select c.day, coalesce(
                (select b.closing from {Table} b
                 where b.tenant_id = p.household and b.compartment = p.compartment and b.holding = p.holding and b.day < c.day
                 order by b.day desc limit 1), 0)
            from change c
            where c.household = p.household and c.compartment = p.compartment and c.holding = p.holding and not exists (
                select from {Table} e where e.tenant_id = p.household and e.compartment = p.compartment and e.holding = p.holding and e.day = c.day)) o
        on conflict (tenant_id, compartment, holding, day) do update set closing = t.closing + excluded.closing
        """;
}
