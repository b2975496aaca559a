using Weasel.Postgresql;
using Weasel.Postgresql.Tables;

namespace CashEvents.Store.Books;

/// <summary>The tables that the projection fills beside Marten's own.</summary>
internal static class BookTables
{
    public const string Schema = "cashevents";

    /// <summary>Marten's stream key of every household's book.</summary>
    public const string Stream = "book";

    /// <summary>
    /// Raised whenever what is kept beside the lines is made otherwise than before: books written by an older program
    /// are then rebuilt at the start.
    /// </summary>
    public const int Made = 6;

    /// <summary>One row a line: what lists of lines are filtered by.</summary>
    public static Table Lines()
    {
        var table = new Table(Name("line"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<long>("line").AsPrimaryKey();
        table.AddColumn<string>("kind").NotNull();
        table.AddColumn<string>("written_by").NotNull();
        table.AddColumn("occurred_on", "date");
        table.AddColumn<long>("corrects");
        table.AddColumn<long>("reversed_by");
        table.AddColumn<long>("amended_by");
        table.Indexes.Add(new IndexDefinition("line_corrects")
        {
            Columns = ["tenant_id", "line"],
            Predicate = "corrects is not null"
        });
        table.Indexes.Add(new IndexDefinition("line_by_kind") { Columns = ["tenant_id", "kind", "line"] });
        table.Indexes.Add(new IndexDefinition("line_by_writer") { Columns = ["tenant_id", "written_by", "line"] });
        table.Indexes.Add(new IndexDefinition("line_by_date") { Columns = ["tenant_id", "occurred_on", "line"] });
        return table;
    }

    /// <summary>
    /// One row for each holding that a line changes, and one without amount for a compartment it is only about: the
    /// tracker sheets.
    /// </summary>
    public static Table Trackers()
    {
        var table = new Table(Name("tracker_row"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("compartment").AsPrimaryKey();
        table.AddColumn<long>("line").AsPrimaryKey();
        table.AddColumn<short>("leg").AsPrimaryKey();
        table.AddColumn<string>("kind").NotNull();
        table.AddColumn<string>("holding");
        table.AddColumn<long>("amount");
        table.AddColumn("occurred_on", "date");
        table.AddColumn<string>("description").NotNull();
        // Rows come in the order of their lines: a few blocks hold a range of them, and this index costs next to
        // nothing to keep.
        table.Indexes.Add(new IndexDefinition("tracker_row_by_line")
        {
            Columns = ["line"],
            Method = IndexMethod.brin,
            StorageParameters = { ["pages_per_range"] = 16 }
        });
        table.Indexes.Add(new IndexDefinition(
            "tracker_row_by_date")
        { Columns = ["tenant_id", "compartment", "occurred_on", "line", "leg"] });
        return table;
    }

    /// <summary>Closing balance of each holding on each day that money moved in it.</summary>
    public static Table DayClosings() => CarriedForward("day_closing");

    /// <summary>
    /// What was spent in all from each holding, less refunds, up to each day on which that changed: what was spent
    /// between two days is the difference of two rows.
    /// </summary>
    public static Table SpentToDates() => CarriedForward("spent_to_date");

    /// <summary>
    /// What changed each holding on each day, by analysis column: weeks and months at any border are sums of it.
    /// </summary>
    public static Table DayTotals()
    {
        var table = new Table(Name("day_total"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn("day", "date").AsPrimaryKey();
        table.AddColumn<string>("compartment").AsPrimaryKey();
        table.AddColumn<string>("holding").AsPrimaryKey();
        table.AddColumn<string>("sheet_column").AsPrimaryKey();
        table.AddColumn<long>("change").NotNull();
        return table;
    }

    /// <summary>The weekly amount of each compartment and the week from which it is planned.</summary>
    public static Table PlannedAmounts()
    {
        var table = new Table(Name("planned_amount"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("compartment").AsPrimaryKey();
        table.AddColumn("from_day", "date").AsPrimaryKey();
        table.AddColumn<long>("amount").NotNull();
        table.AddColumn<long>("line").NotNull();
        return table;
    }

    /// <summary>Who holds which key; across households, since a key says whose book is meant.</summary>
    public static Table Keys()
    {
        var table = new Table(Name("key"));
        table.AddColumn<string>("hash").AsPrimaryKey();
        table.AddColumn<string>("tenant_id").NotNull();
        table.AddColumn<string>("name").NotNull();
        table.AddColumn<string>("role").NotNull();
        table.AddColumn("movements", "text[]").NotNull();
        table.AddColumn<bool>("revoked").NotNull();
        // Milliseconds since 1970, UTC; none where it does not expire.
        table.AddColumn<long>("expires");
        table.Indexes.Add(new IndexDefinition("key_by_name") { Columns = ["tenant_id", "name"], IsUnique = true });
        return table;
    }

    /// <summary>When keys were last used, roughly. Not made from the lines: to read is no line.</summary>
    public static Table KeyUses()
    {
        var table = new Table(Name("key_use"));
        table.AddColumn<string>("hash").AsPrimaryKey();
        table.AddColumn("last_used", "timestamp with time zone").NotNull();
        return table;
    }

    /// <summary>Browsers that are signed in, and for which key. Not made from the lines.</summary>
    public static Table Sessions()
    {
        var table = new Table(Name("session"));
        table.AddColumn<string>("hash").AsPrimaryKey();
        table.AddColumn<string>("key_hash").NotNull();
        table.AddColumn("opened", "timestamp with time zone").NotNull();
        return table;
    }

    /// <summary>
    /// Origins of web pages that keepers let in. Not made from the lines: no figure depends on them.
    /// </summary>
    public static Table PageOrigins()
    {
        var table = new Table(Name("page_origin"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("origin").AsPrimaryKey();
        table.Indexes.Add(new IndexDefinition("page_origin_by_origin") { Columns = ["origin"] });
        return table;
    }

    /// <summary>
    /// Further tables that are not made from the lines, and which of their rows are a household's, <c>$1</c>: a backup
    /// takes them along.
    /// </summary>
    public static IReadOnlyDictionary<string, string> Beside { get; } = new Dictionary<string, string>
    {
        ["key_use"] = OfKeys("hash"),
        ["session"] = OfKeys("key_hash"),
        ["calendar_address"] = OfHousehold,
        ["calendar_entry"] = OfHousehold,
        ["notice"] = OfHousehold,
        ["notice_setting"] = OfHousehold,
        ["notice_look"] = OfHousehold,
        ["notice_alarm"] = OfHousehold,
        ["webhook"] = OfHousehold,
    };

    /// <summary>
    /// Secret addresses of calendars; without a hash where one was taken away. Not made from the lines.
    /// </summary>
    public static Table CalendarAddresses()
    {
        var table = new Table(Name("calendar_address"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("hash");
        table.AddColumn<Guid>("id").NotNull();
        table.AddColumn<string>("count_every").NotNull();
        table.AddColumn("made", "timestamp with time zone").NotNull();
        table.Indexes.Add(new IndexDefinition("calendar_address_by_hash") { Columns = ["hash"], IsUnique = true });
        return table;
    }

    /// <summary>
    /// How often entries of calendars have changed. Not made from the lines: it depends on when they were looked at.
    /// </summary>
    public static Table CalendarEntries()
    {
        var table = new Table(Name("calendar_entry"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("entry").AsPrimaryKey();
        table.AddColumn<string>("fingerprint").NotNull();
        table.AddColumn<int>("sequence").NotNull();
        table.AddColumn("changed", "timestamp with time zone").NotNull();
        return table;
    }

    /// <summary>Answers given, by idempotency key: a repeated request gets the same one.</summary>
    public static Table Answers()
    {
        var table = new Table(Name("answer"));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("idempotency_key").AsPrimaryKey();
        table.AddColumn("fingerprint", "bytea").NotNull();
        table.AddColumn("entry", "jsonb").NotNull();
        return table;
    }

    private const string OfHousehold = "tenant_id = $1";

    private static string OfKeys(string hash) =>
        $"{hash} in (select hash from {Schema}.key where tenant_id = $1)";

    private static Table CarriedForward(string name)
    {
        var table = new Table(Name(name));
        table.AddColumn<string>("tenant_id").AsPrimaryKey();
        table.AddColumn<string>("compartment").AsPrimaryKey();
        table.AddColumn<string>("holding").AsPrimaryKey();
        table.AddColumn("day", "date").AsPrimaryKey();
        table.AddColumn<long>("closing").NotNull();
        return table;
    }

    /// <summary>A table beside the books.</summary>
    public static Table Named(string table) => new(Name(table));

    private static PostgresqlObjectName Name(string table) => new(Schema, table, SchemaUtils.IdentifierUsage.General);
}
