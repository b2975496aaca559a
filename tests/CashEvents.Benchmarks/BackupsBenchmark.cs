using System.Diagnostics;
using System.Globalization;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;

namespace CashEvents.Benchmarks;

/// <summary>
/// What a backup of a long book takes, and its restore, beside the plain way: PostgreSQL's own COPY of the same rows,
/// out and in, without a hash looked at and with nothing made beside them.
/// </summary>
internal static class BackupsBenchmark
{
    public static async Task<int> RunAsync(long lines)
    {
        var kept = Environment.GetEnvironmentVariable("CASHEVENTS_BENCHMARK_DATA") is { Length: > 0 } named
            ? named
            : null;
        var folder = kept ?? Path.Combine(Path.GetTempPath(), "cashevents-benchmark-" + Guid.NewGuid().ToString("N"));
        var file = Path.Combine(Path.GetTempPath(), $"cashevents-benchmark-{Guid.NewGuid():N}.jsonl.gz");
        try
        {
            await using var postgres = await PrivatePostgres.StartAsync(OwnPostgres.In(folder));
            var book = await LongBook.KeptAsync(postgres, lines);
            var there = await LongBook.AskAsync(book, "select count(*) from cashevents.mt_events");
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"PostgreSQL {postgres.Version}, {Environment.ProcessorCount} cores for the program and its PostgreSQL "
                    + $"together; a book of {there} lines. Processor: of the program, and of its "
                    + $"PostgreSQL (on Linux)."));
            await BackUpAsync(postgres, book, file);
            await RestoreAsync(postgres, file);
            await CopyAsync(postgres, book, file);
            return 0;
        }
        finally
        {
            File.Delete(file);
            if (kept is null && Directory.Exists(folder))
            {
                Directory.Delete(folder, recursive: true);
            }
        }
    }

    private static async Task BackUpAsync(PrivatePostgres postgres, string book, string file)
    {
        await using var server = await LongBook.ServeAsync(book, new ToldClock(default));
        await TimeAsync(postgres, "back up and read back", async () =>
            Agree(await CheckedBackup.WriteAsync(server.Services.GetRequiredService<BackupMaker>(), file, null)));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"  {new FileInfo(file).Length / 1e6:0.0} MB"));
    }

    private static async Task RestoreAsync(PrivatePostgres postgres, string file)
    {
        await InScratchAsync(postgres, async empty =>
        {
            await using var server = await LongBook.ServeAsync(empty, new ToldClock(default));
            await using var backup = File.OpenRead(file);
            await TimeAsync(postgres, "restore", async () =>
                Agree(await server.Services.GetRequiredService<BackupRestorer>().RestoreAsync(backup)));
            var verification = server.Services.GetRequiredService<VerificationReader>();
            await TimeAsync(postgres, "verify what was restored", async () => Agree([new BookBackup(
                Opening.FirstHousehold, await verification.ReadAsync(Opening.FirstHousehold))]));
        });
    }

    private static async Task CopyAsync(PrivatePostgres postgres, string book, string file)
    {
        await TimeAsync(postgres, "COPY the lines' rows out", async () =>
        {
            await using var from = NpgsqlDataSource.Create(book);
            await using var connection = await from.OpenConnectionAsync();
            await using var rows =
                await connection.BeginRawBinaryCopyAsync("copy cashevents.mt_events to stdout (format binary)");
            await using var to = File.Create(file);
            await rows.CopyToAsync(to);
            to.Flush(flushToDisk: true);
        });
        await InScratchAsync(postgres, async empty =>
        {
            // With the tables and indexes that the program has.
            await using (await LongBook.ServeAsync(empty, new ToldClock(default)))
            {
            }

            await LongBook.AskAsync(empty, "insert into cashevents.mt_streams (tenant_id, id, version) values "
                + $"('{Opening.FirstHousehold}', 'book', 1)");
            await TimeAsync(postgres, "COPY them in, indexed", async () =>
            {
                await using var to = NpgsqlDataSource.Create(empty);
                await using var connection = await to.OpenConnectionAsync();
                await using var rows =
                    await connection.BeginRawBinaryCopyAsync("copy cashevents.mt_events from stdin (format binary)");
                await using var from = File.OpenRead(file);
                await from.CopyToAsync(rows);
            });
        });
    }

    private static async Task InScratchAsync(PrivatePostgres postgres, Func<string, Task> work)
    {
        var name = $"restored_{Guid.NewGuid().ToString("N")[..12]}";
        var empty = await postgres.CreateDatabaseAsync(name);
        try
        {
            await work(empty);
        }
        finally
        {
            NpgsqlConnection.ClearAllPools();
            await LongBook.AskAsync(await postgres.CreateDatabaseAsync("postgres"),
                $"drop database {name} with (force)");
        }
    }

    private static async Task TimeAsync(PrivatePostgres postgres, string what, Func<Task> work)
    {
        var (program, server) = (OfProgram(), OfServer(postgres.ProcessId));
        var start = Stopwatch.GetTimestamp();
        await work();
        var took = Stopwatch.GetElapsedTime(start);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{what,-26} {took.TotalSeconds,7:0.0} s   processor {OfProgram() - program,6:0.0} s + "
                + $"{OfServer(postgres.ProcessId) - server,6:0.0} s"));
    }

    private static double OfProgram()
    {
        using var program = Process.GetCurrentProcess();
        return program.TotalProcessorTime.TotalSeconds;
    }

    // Of its first process, of those that run and of those that ended: proc(5), in hundredths of a second.
    private static double OfServer(int first)
    {
        var ticks = 0L;
        foreach (var stat in Directory.Exists("/proc") ? Directory.EnumerateFiles("/proc", "stat",
            new EnumerationOptions { RecurseSubdirectories = true, MaxRecursionDepth = 1 }) : [])
        {
            try
            {
                var fields = File.ReadAllText(stat);
                var after = fields[(fields.LastIndexOf(')') + 2)..].Split(' ');
                var isFirst = stat == $"/proc/{first}/stat";
                if (isFirst || after[1] == first.ToString(CultureInfo.InvariantCulture))
                {
                    ticks += after[11..(isFirst ? 15 : 13)].Sum(t => long.Parse(t, CultureInfo.InvariantCulture));
                }
            }
            catch (Exception gone) when (gone is IOException or UnauthorizedAccessException or FormatException
                or ArgumentOutOfRangeException)
            {
                // It ended meanwhile, or is none.
            }
        }

        return ticks / 100.0;
    }

    private static void Agree(IReadOnlyList<BookBackup> books)
    {
        if (books.FirstOrDefault(book => !book.Finding.Agrees) is { } broken)
        {
            throw new InvalidOperationException($"The book does not agree: {broken.Finding}");
        }
    }
}
