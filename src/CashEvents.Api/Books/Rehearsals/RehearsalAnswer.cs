namespace CashEvents.Api.Books;

/// <summary>What a place would hold.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Now">What it holds.</param>
/// <param name="Then">What it would hold.</param>
/// <param name="Change">Then less now.</param>
public sealed record SupposedChangeAnswer(string Compartment, Holding Holding, decimal Now, decimal Then,
    decimal Change);

/// <summary>A row of a supposed sheet: one that stands there now, or one that would.</summary>
/// <param name="Date">The household's date on which it happened or would have.</param>
/// <param name="Kind">The line's kind.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Description">What is written beside it.</param>
/// <param name="Amount">In is positive, out negative.</param>
/// <param name="Balance">After this row.</param>
public sealed record SupposedRowAnswer(DateOnly Date, string Kind, Holding Holding, string Description, decimal Amount,
    decimal Balance)
{
    /// <summary>The line it comes from; absent when it is supposed.</summary>
    public long? Line { get; init; }

    /// <summary>The place in <c>suppose</c> of what it follows from, from 0; absent when it is written.</summary>
    public int? Supposed { get; init; }

    /// <summary>The earlier line that it undoes.</summary>
    public long? Reverses { get; init; }

    /// <summary>The earlier line in whose stead it stands.</summary>
    public long? Amends { get; init; }
}

/// <summary>A compartment's sheet as it would be, from the earliest day on which something is supposed in it.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="From">The first day of the sheet.</param>
/// <param name="OpeningBalance">Before that day.</param>
/// <param name="Rows">In date order; within a day as written, then as supposed. At most 1,000.</param>
/// <param name="ClosingBalance">After the last row, shown or not.</param>
public sealed record SupposedTrackerAnswer(string Compartment, string Label, DateOnly From, decimal OpeningBalance,
    IReadOnlyList<SupposedRowAnswer> Rows, decimal ClosingBalance)
{
    /// <summary>What is not shown.</summary>
    public string? Note { get; init; }
}

/// <summary>The last count of a place, and whether the book would agree with it.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Which of its holdings.</param>
/// <param name="OccurredOn">The day of the count.</param>
/// <param name="Counted">What was found.</param>
/// <param name="Expected">What would have been expected.</param>
/// <param name="Difference">Counted minus expected: over when positive, short when negative.</param>
/// <param name="Settled">Whether the difference would have been posted.</param>
/// <param name="Agrees">Whether the book would agree with what was found: without a difference, or with one that is
/// settled.</param>
public sealed record SupposedCountAnswer(
    string Compartment, Holding Holding, DateOnly OccurredOn, decimal Counted, decimal Expected, decimal Difference,
    bool Settled, bool Agrees)
{
    /// <summary>The count's id; absent when the count itself is supposed.</summary>
    public long? CountId { get; init; }

    /// <summary>What is expected by what is written.</summary>
    public decimal? ExpectedNow { get; init; }

    /// <summary>Counted minus what is expected by what is written.</summary>
    public decimal? DifferenceNow { get; init; }
}

/// <summary>What would be. Nothing of it is written.</summary>
/// <param name="BookLine">The book's last line, before and after.</param>
/// <param name="Balances">What there would be and where it would lie.</param>
/// <param name="Changes">Each place that would be touched.</param>
/// <param name="Trackers">The sheet of each compartment that would be touched.</param>
/// <param name="Counts">The last count of each place.</param>
public sealed record RehearsalAnswer(
    long BookLine, BalancesAnswer Balances, IReadOnlyList<SupposedChangeAnswer> Changes,
    IReadOnlyList<SupposedTrackerAnswer> Trackers, IReadOnlyList<SupposedCountAnswer> Counts)
{
    private const int MostRows = 1000;

    /// <summary>A rehearsal in this API's words.</summary>
    /// <param name="rehearsal">What was supposed and what would become of it.</param>
    /// <param name="written">Reads the first rows of a sheet as they are written: the compartment, the first day, the
    /// balance before it, and how many.</param>
    internal static async Task<RehearsalAnswer> OfAsync(Rehearsal rehearsal,
        Func<string, DateOnly, Money, int, Task<IReadOnlyList<TrackerRow>>> written)
    {
        var (now, then, lines) = rehearsal;
        decimal Say(Money money) => then.Household?.Currency?.ToDecimal(money) ?? 0m;
        var movements = lines.SelectMany(
            l => l.Line is IMovement m ? m.Postings.Select(p => new Supposed(l.Supposition, m, p)) : []).ToList();
        var touched = movements.GroupBy(s => s.Posting.Place.Compartment).OrderBy(g => then.Compartments[g.Key].Line)
            .ToList();
        var trackers = new List<SupposedTrackerAnswer>();
        foreach (var sheet in touched)
        {
            var from = sheet.Min(s => s.Movement.OccurredOn);
            var opening = Enum.GetValues<Holding>()
                .Aggregate(Money.Zero, (sum, h) =>
                    sum + (from == DateOnly.MinValue
                        ? Money.Zero
                        : now.BalanceOn(new Part(sheet.Key, h), from.AddDays(-1))));
            trackers.Add(Sheet(then.Compartments[sheet.Key], from, opening,
                await written(sheet.Key, from, opening, MostRows + 1).ConfigureAwait(false), [.. sheet], Say));
        }

        return new RehearsalAnswer(
            now.Line,
            BalancesAnswer.Of(then with { Line = now.Line }),
            [
                .. touched.SelectMany(g => g.Select(s => s.Posting.Place).Distinct().OrderBy(p => p.Holding))
                    .Select(p => (Place: p, Now: now.Compartments[p.Compartment].Balance(p.Holding),
                        Then: then.Compartments[p.Compartment].Balance(p.Holding)))
                    .Select(c => new SupposedChangeAnswer(c.Place.Compartment, c.Place.Holding, Say(c.Now), Say(c.Then),
                        Say(c.Then - c.Now))),
            ],
            trackers,
            [
                .. then.Compartments.Values.OrderBy(c => c.Line)
                    .SelectMany(c => Enum.GetValues<Holding>().Select(h => new Part(c.Id, h))
                        .Select(p => (Compartment: c, p.Holding, Then: then.LastCount(p), Now: now.LastCount(p))))
                    .Where(c => c.Then is not null)
                    .Select(c => new SupposedCountAnswer(
                        c.Compartment.Id, c.Holding, c.Then!.OccurredOn, Say(c.Then.Counted), Say(c.Then.Expected),
                        Say(c.Then.Difference), c.Then.Settled,
                        Agrees: c.Then.Settled || c.Then.Difference == Money.Zero)
                    {
                        CountId = c.Then.Line <= now.Line ? c.Then.Line : null,
                        ExpectedNow = c.Now?.Line == c.Then.Line ? Say(c.Now.Expected) : null,
                        DifferenceNow = c.Now?.Line == c.Then.Line ? Say(c.Now.Difference) : null,
                    }),
            ]);
    }

    private static SupposedTrackerAnswer Sheet(
        Compartment compartment, DateOnly from, Money opening, IReadOnlyList<TrackerRow> written,
        IReadOnlyList<Supposed> supposed, Func<Money, decimal> say)
    {
        var balance = opening;
        var rows = written.Select(
            r => (r.OccurredOn, r.Amount, Row: (Func<Money, SupposedRowAnswer>)(after => OfWritten(r, after, say))))
            .Concat(supposed.Select(s =>
                (s.Movement.OccurredOn, s.Posting.Amount,
                    Row: (Func<Money, SupposedRowAnswer>)(after => OfSupposed(s, after, say)))))
            .OrderBy(r => r.OccurredOn)
            .Take(MostRows)
            .Select(r => r.Row(balance += r.Amount))
            .ToList();
        return new SupposedTrackerAnswer(compartment.Id, compartment.Label, from, say(opening), rows,
            say(compartment.Cash + compartment.Bank))
        {
            Note = written.Count + supposed.Count > MostRows
                ? $"The sheet is longer: only its first {MostRows} rows are shown. Later suppositions, or fewer of "
                    + $"them, show its end."
                : null,
        };
    }

    private static SupposedRowAnswer OfWritten(TrackerRow row, Money balance, Func<Money, decimal> say)
    {
        var undoes = row.Kind == LineKinds.Names[typeof(Reversed)];
        return new SupposedRowAnswer(row.OccurredOn, row.Kind, row.Holding, row.Description, say(row.Amount),
            say(balance))
        {
            Line = row.Line,
            Reverses = undoes ? row.Corrects : null,
            Amends = undoes ? null : row.Corrects,
        };
    }

    private static SupposedRowAnswer OfSupposed(Supposed supposed, Money balance, Func<Money, decimal> say)
    {
        var (place, movement, posting) = supposed;
        return new SupposedRowAnswer(movement.OccurredOn, LineKinds.Of(movement), posting.Place.Holding,
            movement.Description, say(posting.Amount), say(balance))
        {
            Supposed = place,
            Reverses = movement is Reversed ? movement.Corrects?.Line : null,
            Amends = movement is Reversed ? null : movement.Corrects?.Line,
        };
    }

    private sealed record Supposed(int Place, IMovement Movement, Posting Posting);
}
