using System.Text;

namespace CashEvents.Api.Hosting;

/// <summary>The first keeper's key: given by CASHEVENTS_KEEPER_KEY, or made and kept in the data folder.</summary>
/// <param name="Plain">The key.</param>
/// <param name="File">Where it is kept; null when it was given.</param>
internal sealed record KeeperKey(string Plain, string? File)
{
    public const string Variable = "CASHEVENTS_KEEPER_KEY";

    private const string Kept = "keeper.key";
    private const string Unfinished = "keeper.key.new";

    // A shorter one can be guessed by trying; the program's own have 256 random bits.
    private const int ShortestGood = 32;

    /// <summary>The key that was given, which a header can carry and nobody can guess; null when none was.</summary>
    /// <exception cref="StartException">It is too short, or has other signs than a header carries.</exception>
    public static string? Given(string? written)
    {
        var key = written?.Trim();
        return string.IsNullOrEmpty(key) ? null
            : key.Length < ShortestGood
                ? throw new StartException($"The key in {Variable} has {key.Length} characters, and a short key can be "
                    + $"guessed by trying: give one of {ShortestGood} random characters or more, or leave it out and "
                    + $"one is made.")
            : !key.All(c => c is > ' ' and <= '~')
                ? throw new StartException($"The key in {Variable} has a space or a sign that no header carries: give "
                    + $"one of plain letters, digits and signs, or leave it out and one is made.")
            : key;
    }

    /// <summary>
    /// Takes the given key, or the one kept by a first start that broke off, or makes one. It is on disk before the
    /// book knows it, so it can't be lost.
    /// </summary>
    /// <exception cref="StartException">The given key is none to be taken.</exception>
    public static KeeperKey TakeOrMake(string? written, string dataFolder)
    {
        if (Given(written) is { } given)
        {
            return new KeeperKey(given, null);
        }

        var file = FileIn(dataFolder);
        if (System.IO.File.Exists(file) && System.IO.File.ReadAllText(file).Trim() is { Length: > 0 } kept)
        {
            return new KeeperKey(kept, file);
        }

        var key = new KeeperKey(KeyRing.NewKey(), file);
        key.Keep(dataFolder);
        return key;
    }

    /// <summary>
    /// Keeps it instead of the one before; a given one is kept nowhere, and the one before no longer.
    /// </summary>
    public void Keep(string dataFolder)
    {
        if (File is null)
        {
            System.IO.File.Delete(FileIn(dataFolder));
            return;
        }

        // Written beside and then renamed, so that a kill leaves a whole key or none.
        OwnPostgres.MakeFolder(dataFolder);
        var unfinished = Path.Combine(dataFolder, Unfinished);
        System.IO.File.Delete(unfinished);
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        using (var stream = new FileStream(unfinished, options))
        {
            stream.Write(Encoding.ASCII.GetBytes(Plain + Environment.NewLine));
            stream.Flush(flushToDisk: true);
        }

        System.IO.File.Move(unfinished, File, overwrite: true);
    }

    /// <summary>The names of the files that it is kept in.</summary>
    public static IReadOnlyList<string> FileNames => [Kept, Unfinished];

    public static string FileIn(string dataFolder) => Path.Combine(dataFolder, Kept);
}
