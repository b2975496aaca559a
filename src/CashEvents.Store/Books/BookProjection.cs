using System.Collections.Frozen;
using System.Collections.Immutable;
using System.Text.Json;
using Npgsql;

namespace CashEvents.Store.Books;

/// <summary>
/// Writes what is read from the books beside their lines, in the same transaction: a handful of statements however many
/// lines of however many households come together.
/// </summary>
internal static class BookProjection
{
    // One plan must serve every append: PostgreSQL makes a new one each time it takes that for cheaper. So the arrays
    // stand in selects of their own, where it does not see how long they are. The closings are those of the book as it
    // was decided on; what was spent so far is not in it, and goes on from the last row up to that day.
    private const string InsertFigures = $"""
        with sheet as (
            insert into {BookTables.Schema}.tracker_row (tenant_id, compartment, line, leg, kind, holding, amount, occurred_on, description)
            select * from unnest($1, $2, $3, $4, $5, $6, $7, $8, $9)),
        closing as (
            insert into {BookTables.Schema}.day_closing (tenant_id, compartment, holding, day, closing)
            select * from unnest($10, $11, $12, $13, $14)
            on conflict (tenant_id, compartment, holding, day) do update set closing = excluded.closing),
        spent as (
            insert into {BookTables.Schema}.spent_to_date (tenant_id, compartment, holding, day, closing)
            select c.household, c.compartment, c.holding, c.day, c.amount + coalesce(
                (select s.closing from {BookTables.Schema}.spent_to_date s
                 where s.tenant_id = c.household and s.compartment = c.compartment and s.holding = c.holding and s.day <= c.day
                 order by s.day desc limit 1), 0)
            from unnest((select $15), (select $16), (select $17), (select $18), (select $19)) as c(household, compartment, holding, day, amount)
            on conflict (tenant_id, compartment, holding, day) do update set closing = excluded.closing)
        insert into {BookTables.Schema}.day_total as t (tenant_id, day, compartment, holding, sheet_column, change)
        select * from unnest($20, $21, $22, $23, $24, $25)
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
    public static void Add(NpgsqlBatch batch, IReadOnlyList<Append> appends)
    {
        AppendedLine[] lines = [.. appends.SelectMany(a => a.Lines)];
        AddFigures(batch, appends, lines);
        MarkCorrected(batch, lines);
        SetPlansAndKeys(batch, lines);
    }

    private static void AddFigures(NpgsqlBatch batch, IReadOnlyList<Append> appends, AppendedLine[] lines)
    {
        var rows = lines.SelectMany(l => StoredRow.Of(l.Number, l.Event), (l, Row) => (l.Household, Row)).ToList();
        if (rows.Count == 0)
        {
            return;
        }

        var changes = lines.Where(l => l.Event is IMovement).SelectMany(l => Analysis.Of((IMovement)l.Event),
            (l, Change) => (l.Household, ((IMovement)l.Event).OccurredOn, Change)).ToList();
        var closings = appends.SelectMany(ClosingsOf).ToList();
        var totals = changes.GroupBy(c => (c.Household, c.OccurredOn, c.Change.Place.Compartment,
                Holding: Stored.Word(c.Change.Place.Holding), Column: Stored.Word(c.Change.Column)),
            c => c.Change.Change.Minor, (key, amounts) => (Key: key, Change: amounts.Sum())).ToList();
        var books = appends.ToDictionary(a => a.Household, a => a.Page.Book, StringComparer.Ordinal);
        var spent = changes.Where(c => c.Change.Column is Column.Spent or Column.Refunded)
            .GroupBy(c => (c.Household, c.Change.Place, c.OccurredOn), c => -c.Change.Change.Minor,
                (key, amounts) => (key.Household, key.Place, Day: key.OccurredOn, Amount: amounts.Sum()))
            .ToLookup(s => books[s.Household].Days[s.Place].FirstAfter(s.Day) is null);

        batch.Add(InsertFigures,
            [Of(rows, r => r.Household), Of(rows, r => r.Row.Compartment), Of(rows, r => r.Row.Line),
            Of(rows, r => r.Row.Leg), Of(rows, r => r.Row.Kind), Of(rows, r => r.Row.Holding),
            Of(rows, r => r.Row.Amount), Of(rows, r => r.Row.OccurredOn), Of(rows, r => r.Row.Description),
            Of(closings, c => c.Household), Of(closings, c => c.Place.Compartment),
            Of(closings, c => Stored.Word(c.Place.Holding)), Of(closings, c => c.Closing.Day),
            Of(closings, c => c.Closing.Closing.Minor),
            .. OfSpent([.. spent[true]]),
            Of(totals, t => t.Key.Household), Of(totals, t => t.Key.OccurredOn), Of(totals, t => t.Key.Compartment),
            Of(totals, t => t.Key.Holding), Of(totals, t => t.Key.Column), Of(totals, t => t.Change)]);
        if (spent[false].Any())
        {
            batch.Add(CarriedForward.Spent, OfSpent([.. spent[false]]));
        }
    }

    // The closings of the days that the lines changed, and of all that follow on them.
    private static IEnumerable<(string Household, Part Place, DayClosing Closing)> ClosingsOf(Append append) =>
        append.Lines.Select(l => l.Event).OfType<IMovement>()
            .SelectMany(movement => movement.Postings, (movement, p) => (p.Place, movement.OccurredOn))
            .GroupBy(p => p.Place, p => p.OccurredOn)
            .SelectMany(days => append.Page.Book.Days[days.Key].Since(days.Min()),
                (days, closing) => (append.Household, days.Key, closing));

    private static ImmutableArray<object> OfSpent(
        IReadOnlyList<(string Household, Part Place, DateOnly Day, long Amount)> spent) =>
        [Of(spent, s => s.Household), Of(spent, s => s.Place.Compartment),
        Of(spent, s => Stored.Word(s.Place.Holding)), Of(spent, s => s.Day), Of(spent, s => s.Amount)];

    private static TValue[] Of<T, TValue>(IReadOnlyList<T> rows, Func<T, TValue> value) => [.. rows.Select(value)];

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
