namespace CashEvents.Api.Hosting;

/// <summary>The first keeper's key: given by CASHEVENTS_KEEPER_KEY, or made and kept in the data folder.</summary>
/// <param name="Plain">The key.</param>
/// <param name="File">Where it is kept; null when it was given.</param>
internal sealed record KeeperKey(string Plain, string? File)
{
    public const string Variable = "CASHEVENTS_KEEPER_KEY";

    /// <summary>The file's name.</summary>
    public const string Kept = "keeper.key";

    /// <summary>The key that was given, which a header can carry and nobody can guess; null when none was.</summary>
    /// <exception cref="StartException">It is too short, or has other signs than a header carries.</exception>
    public static string? Given(string? written) => KeyFile.Given(written, Variable);

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
        if (KeyFile.Read(dataFolder, Kept) is { } kept)
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

        KeyFile.Keep(dataFolder, Kept, Plain);
    }

    /// <summary>The names of the files that it is kept in.</summary>
    public static IReadOnlyList<string> FileNames => [Kept, KeyFile.Unfinished(Kept)];

    public static string FileIn(string dataFolder) => Path.Combine(dataFolder, Kept);
}
