using CashEvents.Benchmarks;

return args switch
{
    [] or ["writing"] => await WritingBenchmark.RunAsync(),
    ["history", var lines] => await HistoryBenchmark.RunAsync(long.Parse(lines, System.Globalization.CultureInfo.InvariantCulture)),
    ["rebuild", var lines] => await RebuildBenchmark.RunAsync(long.Parse(lines, System.Globalization.CultureInfo.InvariantCulture)),
    _ => Usage(),
};

static int Usage()
{
    Console.Error.WriteLine("CashEvents.Benchmarks [writing]    durable spends per second on one household, beside a plain-SQL ledger");
    return 1;
}
