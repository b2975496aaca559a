using CashEvents.Benchmarks;

return args switch
{
    [] or ["writing"] => await WritingBenchmark.RunAsync(),
    _ => Usage(),
};

static int Usage()
{
    Console.Error.WriteLine("CashEvents.Benchmarks [writing]    durable spends per second on one household, beside a plain-SQL ledger");
    return 1;
}
