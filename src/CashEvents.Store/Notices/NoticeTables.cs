using Weasel.Postgresql.Tables;

namespace CashEvents.Store.Notices;

/// <summary>What was told of each book, beside it. No figure of the book depends on it.</summary>
internal static class NoticeTables
{
    /// <summary>What was told, each with when it began and when it was over.</summary>
    public static Table Notices()
    {
        var table = BookTables.Named("notice");
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<long>("number").AsPrimaryKey();
        table.AddColumn<string>("key").NotNull();
        table.AddColumn<string>("kind").NotNull();
        table.AddColumn<string>("title").NotNull();
        table.AddColumn<string>("detail").NotNull();
        table.AddColumn<string>("compartment");
        table.AddColumn("about_day", "date");
        table.AddColumn("since", "timestamp with time zone").NotNull();
        table.AddColumn<long>("over_number");
        table.AddColumn("over_at", "timestamp with time zone");
        table.Indexes.Add(new IndexDefinition("notice_open")
        {
            Columns = ["tenant_id", "key"],
            Predicate = "over_number is null",
            IsUnique = true,
        });
        table.Indexes.Add(new IndexDefinition("notice_by_over") { Columns = ["tenant_id", "over_number"] });
        return table;
    }

    /// <summary>Which notices households want.</summary>
    public static Table Settings()
    {
        var table = BookTables.Named("notice_setting");
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn("settings", "jsonb").NotNull();
        return table;
    }

    /// <summary>
    /// At which line and on which day each book was looked at last, and when it is to be without a line.
    /// </summary>
    public static Table Looks()
    {
        var table = BookTables.Named("notice_look");
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<long>("line").NotNull();
        table.AddColumn("day", "date").NotNull();
        table.AddColumn("due", "timestamp with time zone").NotNull();
        table.AddColumn<long>("told").NotNull();
        table.Indexes.Add(new IndexDefinition("notice_look_by_due") { Columns = ["due"] });
        return table;
    }

    /// <summary>What other parts of the program found, and no line of the book says.</summary>
    public static Table Alarms()
    {
        var table = BookTables.Named("notice_alarm");
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("kind").AsPrimaryKey();
        table.AddColumn<string>("about").AsPrimaryKey();
        table.AddColumn<string>("detail").NotNull();
        return table;
    }
}
