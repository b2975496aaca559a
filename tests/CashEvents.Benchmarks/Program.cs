using System.Globalization;

return args switch
{
    ["writing"] => await WritingBenchmark.RunAsync(),
    ["history"] => await HistoryBenchmark.RunAsync(1_000_000),
    ["history", var lines] when long.TryParse(lines, CultureInfo.InvariantCulture, out var number) && number > 0 =>
        await HistoryBenchmark.RunAsync(number),
    ["backups"] => await BackupsBenchmark.RunAsync(1_000_000),
    ["backups", var lines] when long.TryParse(lines, CultureInfo.InvariantCulture, out var number) && number > 0 =>
        await BackupsBenchmark.RunAsync(number),
    ["packing"] => PackingBenchmark.Run(),
    ["goals"] => GoalsBenchmark.Run(),
    ["neighbours"] => await NeighboursBenchmark.RunAsync(),
    ["households", .. var more] => await Households(more),
    ["feed"] => await FeedBenchmark.RunAsync(),
    ["outlook"] => OutlookBenchmark.Run(),
    ["explanations", .. var more] => Explanations(more),
    [] => await WritingBenchmark.RunAsync() + await HistoryBenchmark.RunAsync(1_000_000)
        + await BackupsBenchmark.RunAsync(1_000_000)
        + PackingBenchmark.Run() + GoalsBenchmark.Run() + OutlookBenchmark.Run() + Explanations([])
        + await NeighboursBenchmark.RunAsync() + await FeedBenchmark.RunAsync()
        + await Households([]),
    _ => Usage(),
};

static int Explanations(string[] more) => ExplanationsBenchmark.Run(
    more.Length > 0 ? [.. more[0].Split(',').Select(s => int.Parse(s, CultureInfo.InvariantCulture))] : [1],
    more.Length > 1 && int.TryParse(more[1], CultureInfo.InvariantCulture, out var cases) ? cases : 400,
    more.Length > 2 ? more[2] : "");

static Task<int> Households(string[] more) => HouseholdsBenchmark.RunAsync(
    more.Length > 0 && int.TryParse(more[0], CultureInfo.InvariantCulture, out var households) ? households : 200,
    more.Length > 1 && int.TryParse(more[1], CultureInfo.InvariantCulture, out var rounds) ? rounds : 3);

static int Usage()
{
    Console.Error.WriteLine("""
        CashEvents.Benchmarks            all of these, one after the other
        CashEvents.Benchmarks writing    durable spends per second on one household, beside a plain-SQL ledger
        CashEvents.Benchmarks history [LINES]
                                         reading, appending and rebuilding on a book of a million lines (or LINES) over ten years, beside short ones;
                                         CASHEVENTS_BENCHMARK_DATA names a folder that keeps the books for the next run
        CashEvents.Benchmarks backups [LINES]
                                         a backup of a book of a million lines (or LINES) and its restore, beside PostgreSQL's own COPY of the same rows
        CashEvents.Benchmarks packing    notes of one stack into 20 compartments, beside the plainest search
        CashEvents.Benchmarks explanations [SEED,SEED...] [CASES] [kept-aside|drawn]
                                         how often the true mistake is found behind a count that disagrees, by kind, what stated chances are worth, and how long
                                         it takes; in made-up households, by settings that were looked at, by those that were not (kept-aside), or by some that chance draws
        CashEvents.Benchmarks neighbours what a household waits for its balances while another asks for all that takes long, eight at once
        CashEvents.Benchmarks households [HOUSEHOLDS] [ROUNDS]
                                         durable spends per second across many households, beside a plain-SQL ledger, and what a line costs;
                                         with CASHEVENTS_BENCHMARK_STATEMENTS set, statement by statement
        CashEvents.Benchmarks feed       from the commit of a line until those who listen have it, with 1 to 500 streams and one that takes nothing
        CashEvents.Benchmarks goals      level contributions of sinking funds with a thousand goals, beside the plainest way that is right
        CashEvents.Benchmarks outlook    five years ahead with 40 compartments, beside the plainest way that is right
        """);
    return 1;
}
