using System.Diagnostics;
using System.Globalization;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>A clock that says what it was told last.</summary>
internal sealed class ToldClock(DateTimeOffset now) : TimeProvider
{
    public DateTimeOffset Now { get; set; } = now;

    public override DateTimeOffset GetUtcNow() => Now;
}

/// <summary>
/// A made-up household that writes the same number of lines every day, through the ordinary commands, until today.
/// </summary>
internal static class LongBook
{
    public const string Key = "benchmark-key-of-no-one";

    /// <summary>Lines a day: a million in ten years.</summary>
    public const int LinesADay = 274;

    private const int Compartments = 20;
    private const int Wallets = 4;

    public static DateOnly Today { get; } = new(2026, 11, 25);

    /// <summary>The database of a book of so many lines, which are written where they are not there yet.</summary>
    public static async Task<string> KeptAsync(PrivatePostgres postgres, long lines)
    {
        var database = await postgres.CreateDatabaseAsync($"book_{lines}");
        var clock = new ToldClock(default);
        await using var server = await ServeAsync(database, clock);
        var start = Stopwatch.GetTimestamp();
        if (await AskAsync(database, "select count(*) from cashevents.mt_streams") == 0)
        {
            await WriteAsync(server, clock, lines, seed: 1);
            await AskAsync(database, "vacuum analyze");
            // What the loading left to be written must not be written while others are timed.
            await AskAsync(database, "checkpoint");
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{lines} lines written in {Stopwatch.GetElapsedTime(start).TotalSeconds:0} s"));
        }

        return database;
    }

    /// <summary>The server over a database, without a log.</summary>
    public static async Task<WebApplication> ServeAsync(string database, ToldClock clock)
    {
        var server = Server.Build(database, ["--urls", "http://127.0.0.1:0"],
            services => services.AddSingleton<TimeProvider>(clock).AddLogging(log => log.ClearProviders()));
        await server.StartAsync();
        return server;
    }

    /// <summary>A statement's one number; 0 where it has none.</summary>
    public static async Task<long> AskAsync(string connectionString, string sql)
    {
        await using var database = NpgsqlDataSource.Create(connectionString);
        await using var command = database.CreateCommand(sql);
        command.CommandTimeout = 0;
        return await command.ExecuteScalarAsync() is long number ? number : 0;
    }

    /// <summary>Writes at least so many lines, ending today.</summary>
    private static async Task WriteAsync(WebApplication server, ToldClock clock, long lines, int seed)
    {
        var random = new Random(seed);
        var writer = server.Services.GetRequiredService<BookWriter>();
        var days = (int)Math.Max(1, (lines + LinesADay - 1) / LinesADay);
        var first = Today.AddDays(1 - days);
        clock.Now = At(first);
        await server.Services.GetRequiredService<Opening>().OpenAsync(Opening.FirstHousehold, "Benchmark", Key);
        await WriteAsync(writer,
        [
            new DescribeHousehold("Benchmark", "EUR", "Europe/Dublin", DayOfWeek.Monday),
            .. Enumerable.Range(1, Wallets).Select(i => new OpenWallet($"Wallet {i}")),
            .. Enumerable.Range(1, Compartments)
                .Select(i => new OpenCompartment($"Compartment {i}", $"wallet-{(i % Wallets) + 1}",
                    i % 5 == 0 ? Purpose.SinkingFund : Purpose.Spending)),
            .. Enumerable.Range(1, Compartments)
                .Select(i => new RecordFill(Name(i), Holding.Cash, 500m, first, "first draw")),
        ]);
        for (var day = first; day <= Today; day = day.AddDays(1))
        {
            clock.Now = At(day);
            await WriteAsync(writer, Day(random, day, first));
        }
    }

    private static List<ICommand> Day(Random random, DateOnly day, DateOnly first)
    {
        var commands = new List<ICommand>(LinesADay);
        // One line in ten is written down some days late.
        DateOnly When() => random.Next(10) == 0 && day.AddDays(-3) >= first ? day.AddDays(-random.Next(4)) : day;
        decimal Cents(int most) => random.Next(1, most) / 100m;
        for (var i = 1; i <= Compartments; i++)
        {
            commands.Add(new RecordFill(Name(i), Holding.Cash, 24m, day, "draw"));
        }

        while (commands.Count < LinesADay)
        {
            var compartment = Name(random.Next(1, Compartments + 1));
            commands.Add(random.Next(20) switch
            {
                0 => new RecordRefund(compartment, Holding.Cash, Cents(200), When(), "brought back"),
                1 => new RecordTransfer(new Part(compartment, Holding.Cash),
                    new Part(Name(1 + ((int.Parse(compartment[12..]) + 6) % Compartments)), Holding.Cash), Cents(200),
                    When(), "moved over"),
                2 => new RecordCount(compartment, Holding.Cash, 500m, null, day, "", ""),
                _ => new RecordSpend(compartment, Holding.Cash, Cents(330), When(),
                    "Bread and milk from the corner shop"),
            });
        }

        return commands;
    }

    private static async Task WriteAsync(BookWriter writer, IReadOnlyList<ICommand> commands)
    {
        var written = await writer.WriteAsync(
            new WriteRequest(Opening.FirstHousehold, "keeper", [.. commands.Select(c => new EntryRequest(c))],
                Together: false));
        if (written.Outcomes.Count(o => o.Refusal is not null) is > 5 and var refused)
        {
            throw new InvalidOperationException($"{refused} of a day's lines were refused: "
                + $"{written.Outcomes.First(o => o.Refusal is not null).Refusal}");
        }
    }

    private static string Name(int i) => $"compartment-{i}";

    private static DateTimeOffset At(DateOnly day) => new(day, new TimeOnly(20, 0), TimeSpan.Zero);
}
