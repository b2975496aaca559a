using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>The commands <c>backup</c> and <c>restore</c>.</summary>
internal static class BackupProgram
{
    /// <summary>Writes a backup and tells what is in it.</summary>
    /// <returns>0, or 1 where a line does not agree with its hash.</returns>
    /// <exception cref="StartException">It can't be written.</exception>
    public static async Task<int> WriteAsync(IServiceProvider services, BackupTask task)
    {
        IReadOnlyList<BookBackup> books;
        try
        {
            books = await CheckedBackup.WriteAsync(services.GetRequiredService<BackupMaker>(), task.File,
                task.Household).ConfigureAwait(false);
        }
        catch (Exception failure) when (CheckedBackup.CanNotBe(failure))
        {
            throw new StartException($"No backup was written. {failure.Message}");
        }

        Tell(books);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"Written to {task.File}, {new FileInfo(task.File).Length:N0} bytes, and read back. Whoever has it can "
                + $"read the books: keep it where nobody else can."));
        return books.All(book => book.Finding.Agrees) ? 0 : 1;
    }

    /// <summary>Takes a backup in, all or nothing.</summary>
    /// <exception cref="StartException">It can't be taken in.</exception>
    public static async Task<int> RestoreAsync(IServiceProvider services, BackupTask task)
    {
        IReadOnlyList<BookBackup> books;
        try
        {
            await using var file = File.OpenRead(task.File);
            books = await services.GetRequiredService<BackupRestorer>().RestoreAsync(file, task.Household)
                .ConfigureAwait(false);
        }
        catch (Exception failure) when (CheckedBackup.CanNotBe(failure))
        {
            throw new StartException(failure.Message);
        }

        Tell(books);
        if (task.NewKeeper)
        {
            Console.WriteLine("Taken in. The other keys are those of the book.");
            return 0;
        }

        Console.WriteLine("Taken in. The keys are those of the books, so the keeper's key from before opens them. If "
            + "it is lost, new-keeper-key issues another.");
        if (await services.GetRequiredService<Checkup>().KeptKeyAsync([.. books.Select(book => book.Household)])
            .ConfigureAwait(false) is { } kept)
        {
            Console.WriteLine($"{kept.Says} {kept.Do}".TrimEnd());
        }

        return 0;
    }

    private static void Tell(IReadOnlyList<BookBackup> books)
    {
        foreach (var book in books)
        {
            Console.WriteLine(CashEventsProgram.Say(book.Household, book.Finding));
            if (!book.Finding.Agrees)
            {
                Console.WriteLine("This backup can't be taken in: keep an earlier one.");
            }
        }
    }
}

/// <summary>A backup to write or to take in.</summary>
/// <param name="Restores">Whether it is taken in.</param>
/// <param name="File">Its file.</param>
/// <param name="Household">Whose book; null for all.</param>
/// <param name="NewKeeper">Whether that household gets a new keeper's key once its book is taken in.</param>
internal sealed record BackupTask(bool Restores, string File, string? Household, bool NewKeeper)
{
    /// <summary>Reads what stands behind <c>backup</c> or <c>restore</c>.</summary>
    /// <exception cref="StartException">It can't be read.</exception>
    public static BackupTask Read(string command, string[] args)
    {
        var restores = command == "restore";
        var (file, household, newKeeper) = ("", (string?)null, false);
        for (var i = 0; i < args.Length; i++)
        {
            switch (args[i])
            {
                case "--household" when household is null && i + 1 < args.Length && args[i + 1].Length > 0:
                    household = args[++i];
                    break;
                case "--new-keeper" when restores:
                    newKeeper = true;
                    break;
                case { Length: > 0 } name when file.Length == 0 && !name.StartsWith('-'):
                    file = name;
                    break;
                default:
                    throw Unclear(command);
            }
        }

        // A key is made for one book.
        return file.Length > 0 && (household is not null || !newKeeper)
            ? new BackupTask(restores, file, household, newKeeper)
            : throw Unclear(command);
    }

    private static StartException Unclear(string command) => new("Name the file, and the household where only one is "
        + $"meant: {command} books-2026-11-30.jsonl.gz --household harbour-row."
        + (command == "restore" ? " With --new-keeper that household gets a new keeper's key." : ""));
}
