using System.Security.Cryptography;
using System.Text;
using System.Text.Json;

namespace CashEvents.Cash.Hosting;

/// <summary>Which server, and with which key.</summary>
/// <param name="Address">Where the server listens.</param>
/// <param name="Key">A key of the household.</param>
internal sealed record Connection(Uri Address, string Key)
{
    public const string AddressVariable = "CASHEVENTS_URL";
    public const string KeyVariable = "CASHEVENTS_KEY";

    /// <summary>Names the key without giving it away.</summary>
    public string KeyMark => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Key)))[..12];

    /// <summary>The one that was said by variables, or else kept by <c>connect</c>.</summary>
    /// <exception cref="NotDoneException">There is none, or others can read its key.</exception>
    public static Connection Of(Surroundings around)
    {
        var (address, key) = (around.Variable(AddressVariable), around.Variable(KeyVariable));
        if (string.IsNullOrEmpty(address) || string.IsNullOrEmpty(key))
        {
            var kept = Kept(FileOf(around));
            address = string.IsNullOrEmpty(address) ? kept?.Address : address;
            key = string.IsNullOrEmpty(key) ? kept?.Key : key;
        }

        return string.IsNullOrEmpty(address) || string.IsNullOrEmpty(key)
            ? throw new NotDoneException(ExitCode.Key, "There is no connection yet. Say where the server is and which "
                + $"key to use: cash connect ADDRESS --key-file FILE. Or set {AddressVariable} and {KeyVariable}.")
            : new Connection(AddressOf(address), key);
    }

    /// <summary>Keeps it for later, for this user alone.</summary>
    /// <returns>The file.</returns>
    public string Keep(Surroundings around)
    {
        var file = FileOf(around);
        PrivateFile.Write(file, JsonSerializer.Serialize(
            new Written(Address.GetLeftPart(UriPartial.Authority), Key), JsonSerializerOptions.Web));
        return file;
    }

    /// <summary>An address as people write it.</summary>
    /// <exception cref="NotDoneException">It is none.</exception>
    public static Uri AddressOf(string written) =>
        Uri.TryCreate(written, UriKind.Absolute, out var address) && address.Scheme is "http" or "https"
            ? address
            : throw NotDoneException.Usage($"\"{written}\" is no address. Write one such as http://127.0.0.1:5080.");

    private static string FileOf(Surroundings around) => Path.Combine(around.ConfigurationFolder, "cash.json");

    private static Written? Kept(string file)
    {
        if (!File.Exists(file))
        {
            return null;
        }

        if (PrivateFile.IsOpenToOthers(file))
        {
            throw new NotDoneException(ExitCode.Key, $"Others on this machine can read the key in {file}. Close it "
                + $"with chmod 600 {file}. If somebody may have read it, have the keeper issue another key and revoke "
                + "this one.");
        }

        try
        {
            return JsonSerializer.Deserialize<Written>(File.ReadAllText(file), JsonSerializerOptions.Web);
        }
        catch (JsonException)
        {
            throw new NotDoneException(ExitCode.Key, $"{file} can't be read. Connect again: cash connect ADDRESS "
                + "--key-file FILE.");
        }
    }

    private sealed record Written(string? Address, string? Key);
}
