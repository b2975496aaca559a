namespace CashEvents.Api.Hosting;

/// <summary>Backups that are read back before they count.</summary>
internal static class CheckedBackup
{
    private const string Unfinished = ".part";

    /// <summary>
    /// Writes a backup beside its name, reads it back, and gives it its name only then: a file of that name is whole.
    /// </summary>
    /// <param name="maker">Writes it.</param>
    /// <param name="name">The file's name, which is free.</param>
    /// <param name="household">Whose book; null for all.</param>
    /// <param name="cancellation">Gives up; no file is left.</param>
    /// <returns>What was found of each book.</returns>
    /// <exception cref="BackupException">There is no such book, or such a file.</exception>
    /// <exception cref="IOException">The file can't be written.</exception>
    public static async Task<IReadOnlyList<BookBackup>> WriteAsync(BackupMaker maker, string name, string? household,
        CancellationToken cancellation = default)
    {
        if (File.Exists(name))
        {
            throw new BackupException($"{name} is there already: name another file, so that no backup is lost.");
        }

        var unfinished = name + Unfinished;
        try
        {
            IReadOnlyList<BookBackup> books;
            await using (var file = PrivateFile.Open(unfinished, FileMode.Create))
            {
                await maker.WriteAsync(file, household, ProgramVersion.Text, cancellation).ConfigureAwait(false);
                file.Flush(flushToDisk: true);
                file.Position = 0;
                books = await BackupRestorer.CheckAsync(file, cancellation).ConfigureAwait(false);
            }

            File.Move(unfinished, name);
            return books;
        }
        finally
        {
            File.Delete(unfinished);
        }
    }

    /// <summary>Whether a failure says why a backup can't be written or taken in.</summary>
    public static bool CanNotBe(Exception failure) =>
        failure is BackupException or IOException or UnauthorizedAccessException;
}
