using System.Text;

namespace CashEvents.Api.Hosting;

/// <summary>A key in a file of the data folder that only the program's own user reads.</summary>
internal static class KeyFile
{
    // A shorter one can be guessed by trying; the program's own have 256 random bits.
    private const int ShortestGood = 32;

    /// <summary>The key that was given, which a header can carry and nobody can guess; null when none was.</summary>
    /// <param name="written">What was given.</param>
    /// <param name="variable">The variable it was given in.</param>
    /// <exception cref="StartException">It is too short, or has other signs than a header carries.</exception>
    public static string? Given(string? written, string variable)
    {
        var key = written?.Trim();
        return string.IsNullOrEmpty(key) ? null
            : key.Length < ShortestGood
                ? throw new StartException($"The key in {variable} has {key.Length} characters, and a short key can be "
                    + $"guessed by trying: give one of {ShortestGood} random characters or more, or leave it out and "
                    + $"one is made.")
            : !key.All(c => c is > ' ' and <= '~')
                ? throw new StartException($"The key in {variable} has a space or a sign that no header carries: give "
                    + $"one of plain letters, digits and signs, or leave it out and one is made.")
            : key;
    }

    /// <summary>The key that is kept; null when none is.</summary>
    public static string? Read(string folder, string name) =>
        Path.Combine(folder, name) is var file && File.Exists(file)
            && File.ReadAllText(file).Trim() is { Length: > 0 } kept ? kept : null;

    /// <summary>Keeps a key instead of the one before, and gives it back.</summary>
    public static string Keep(string folder, string name, string key)
    {
        // Written beside and then renamed, so that a kill leaves a whole key or none.
        OwnPostgres.MakeFolder(folder);
        var unfinished = Path.Combine(folder, Unfinished(name));
        File.Delete(unfinished);
        using (var stream = PrivateFile.Open(unfinished, FileMode.CreateNew))
        {
            stream.Write(Encoding.ASCII.GetBytes(key + Environment.NewLine));
            stream.Flush(flushToDisk: true);
        }

        File.Move(unfinished, Path.Combine(folder, name), overwrite: true);
        return key;
    }

    /// <summary>The name of the file in which a key is before it is whole.</summary>
    public static string Unfinished(string name) => name + ".new";
}
