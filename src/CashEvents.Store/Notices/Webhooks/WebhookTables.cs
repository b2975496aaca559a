using Weasel.Postgresql.Tables;

namespace CashEvents.Store.Notices;

/// <summary>Webhooks with how far each has come, and what became of their messages.</summary>
internal static class WebhookTables
{
    public static Table Webhooks()
    {
        var table = BookTables.Named("webhook");
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("id").AsPrimaryKey();
        table.AddColumn<string>("url").NotNull();
        table.AddColumn("kinds", "text[]").NotNull();
        table.AddColumn("compartments", "text[]").NotNull();
        table.AddColumn<string>("secret").NotNull();
        table.AddColumn<string>("old_secret");
        table.AddColumn("old_until", "timestamp with time zone");
        table.AddColumn<long>("line").NotNull();
        table.AddColumn<long>("telling").NotNull();
        table.AddColumn<string>("state").NotNull();
        table.AddColumn<int>("failures").NotNull();
        table.AddColumn("failing_since", "timestamp with time zone");
        table.AddColumn("retry_at", "timestamp with time zone");
        table.Indexes.Add(new IndexDefinition("webhook_by_retry")
        {
            Columns = ["retry_at"],
            Predicate = "retry_at is not null",
        });
        return table;
    }

    public static Table Deliveries()
    {
        var table = BookTables.Named("webhook_delivery");
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("webhook").AsPrimaryKey();
        table.AddColumn<string>("id").AsPrimaryKey();
        table.AddColumn<string>("kind").NotNull();
        table.AddColumn<long>("number").NotNull();
        table.AddColumn<int>("attempts").NotNull();
        table.AddColumn("last_at", "timestamp with time zone").NotNull();
        table.AddColumn<int>("status");
        table.AddColumn<string>("fault");
        table.Indexes.Add(new IndexDefinition("webhook_delivery_by_time")
        {
            Columns = ["tenant_id", "webhook", "last_at"],
        });
        return table;
    }
}
