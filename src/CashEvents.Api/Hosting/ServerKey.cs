using System.Security.Cryptography;
using System.Text;

namespace CashEvents.Api.Hosting;

/// <summary>
/// The key of whoever runs the server: given by CASHEVENTS_SERVER_KEY, or made and kept in the data folder. It opens
/// households' books and lists them; what stands in them is their keepers'.
/// </summary>
/// <param name="plain">The key; null for none, where no household is added over HTTP.</param>
internal sealed class ServerKey(string? plain)
{
    public const string Variable = "CASHEVENTS_SERVER_KEY";

    private const string Kept = "server.key";

    private readonly byte[]? _hash = plain is null ? null : Encoding.ASCII.GetBytes(KeyRing.Hash(plain));

    /// <summary>The names of the files that it is kept in.</summary>
    public static IReadOnlyList<string> FileNames => [Kept, KeyFile.Unfinished(Kept)];

    /// <summary>
    /// Takes the given key, or the one that is kept, or makes one. Where nothing can be kept there is none: with
    /// another PostgreSQL a server needs no folder.
    /// </summary>
    /// <exception cref="StartException">The given key is none to be taken.</exception>
    public static ServerKey TakeOrMake(string? written, string dataFolder)
    {
        try
        {
            return new(KeyFile.Given(written, Variable) ?? KeyFile.Read(dataFolder, Kept)
                ?? KeyFile.Keep(dataFolder, Kept, KeyRing.NewKey()));
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            return new(null);
        }
    }

    /// <summary>Whether a key is it; how long that takes tells nothing of it.</summary>
    public bool Is(string key) =>
        _hash is not null && CryptographicOperations.FixedTimeEquals(_hash, Encoding.ASCII.GetBytes(KeyRing.Hash(key)));
}
