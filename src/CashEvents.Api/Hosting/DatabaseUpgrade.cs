using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>
/// The command <c>upgrade-database</c>: the books move from a private PostgreSQL into one of a newer major version.
/// </summary>
/// <param name="Major">To which; null for the newest that is found.</param>
internal sealed record DatabaseUpgrade(int? Major)
{
    /// <summary>The folder in the data folder in which the new one is made.</summary>
    public const string Folder = "upgrade";

    /// <summary>Reads what stands behind <c>upgrade-database</c>.</summary>
    /// <exception cref="StartException">It can't be read.</exception>
    public static DatabaseUpgrade Read(string[] args) => args switch
    {
        [] => new DatabaseUpgrade((int?)null),
        [var major] when int.TryParse(major, NumberStyles.None, CultureInfo.InvariantCulture, out var number) =>
            new DatabaseUpgrade(number),
        _ => throw new StartException("Write upgrade-database, or name the major version to move to: upgrade-database "
            + "18."),
    };

    /// <summary>
    /// Backs up from the old one, restores into a new one beside it, compares hash by hash, and puts the new one in its
    /// place. The old one is kept. Wherever it is broken off, one of the two is whole and in force.
    /// </summary>
    /// <exception cref="StartException">It can't be done; nothing was changed.</exception>
    /// <exception cref="PrivatePostgresException">A PostgreSQL is missing or does not start.</exception>
    public async Task<int> RunAsync(IConfiguration configuration, string dataFolder, ILogger<PrivatePostgres> log)
    {
        if (!string.IsNullOrWhiteSpace(configuration.GetConnectionString("CashEvents")))
        {
            throw new StartException("ConnectionStrings__CashEvents names a PostgreSQL that is not this program's own: "
                + "move it with its own tools, or with backup and restore.");
        }

        var beside = Path.Combine(dataFolder, Folder);
        var options = OwnPostgres.In(dataFolder);
        await using var old = await PrivatePostgres.StartAsync(options, log).ConfigureAwait(false);
        Forget(beside);
        try
        {
            await using var next = await PrivatePostgres.StartAsync(OwnPostgres.In(beside) with
            {
                Major = Major,
                UnpackTo = options.UnpackFolder,
            }, log).ConfigureAwait(false);
            if (next.Version.Major <= old.Version.Major)
            {
                throw new StartException($"The books are in PostgreSQL {old.Version} already, and {next.Version} is "
                    + $"not newer. Install a newer one, or name its major version: upgrade-database "
                    + $"{old.Version.Major + 1}.");
            }

            var moved = await MoveAsync(old.ConnectionString, next.ConnectionString,
                Path.Combine(beside, "books.jsonl.gz")).ConfigureAwait(false);
            await next.DisposeAsync().ConfigureAwait(false);
            var kept = await old.ReplaceAsync(beside).ConfigureAwait(false);
            Tell(moved, old.Version, next.Version, kept);
            return 0;
        }
        finally
        {
            Forget(beside);
        }
    }

    private static async Task<IReadOnlyList<BookBackup>> MoveAsync(string from, string to, string file)
    {
        try
        {
            var taken = await BackUpAsync(from, file).ConfigureAwait(false);
            var found = await ScratchDatabase.RestoreIntoAsync(to, file, CancellationToken.None).ConfigureAwait(false);
            foreach (var (before, after) in taken.Zip(found))
            {
                if (!after.Finding.Agrees || before.Household != after.Household
                    || before.Finding.Lines != after.Finding.Lines || before.Finding.Hash != after.Finding.Hash)
                {
                    throw new StartException("Nothing was changed: the books do not agree in the new PostgreSQL. "
                        + CashEventsProgram.Say(after.Household, after.Finding));
                }
            }

            return found.Count == taken.Count ? found
                : throw new StartException("Nothing was changed: not every book came over.");
        }
        catch (Exception failure) when (CheckedBackup.CanNotBe(failure))
        {
            throw new StartException($"Nothing was changed. {failure.Message}");
        }
    }

    private static async Task<IReadOnlyList<BookBackup>> BackUpAsync(string from, string file)
    {
        await using var server = Server.Build(from, [], fillsByItself: false);
        var books = await server.ForOneCommandAsync(() =>
            CheckedBackup.WriteAsync(server.Services.GetRequiredService<BackupMaker>(), file, null))
            .ConfigureAwait(false);
        return books.FirstOrDefault(book => !book.Finding.Agrees) is { } broken
            ? throw new StartException(
                $"Nothing was changed. {CashEventsProgram.Say(broken.Household, broken.Finding)}")
            : books;
    }

    private static void Tell(IReadOnlyList<BookBackup> books, Version from, Version to, string kept)
    {
        foreach (var book in books)
        {
            Console.WriteLine(CashEventsProgram.Say(book.Household, book.Finding));
        }

        Console.WriteLine($"The books moved from PostgreSQL {from} to {to}. The old cluster is kept in {kept}: remove "
            + "it once you have a backup from the new one.");
    }

    private static void Forget(string folder)
    {
        if (Directory.Exists(folder))
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
