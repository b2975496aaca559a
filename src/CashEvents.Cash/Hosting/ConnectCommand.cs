using System.CommandLine;

namespace CashEvents.Cash.Hosting;

/// <summary>Keeps which server and which key are used.</summary>
internal static class ConnectCommand
{
    private static readonly Argument<string> _address = new("address")
    {
        Description = "Where the server listens, such as http://127.0.0.1:5080.",
    };

    // A key that is typed as an argument can be read by all on the machine: from the list of processes, from a history.
    private static readonly Option<string?> _keyFile = new("--key-file")
    {
        Description = "The file with the key; - reads it from the input. It is asked for if left out.",
        HelpName = "file",
    };

    public static Command Make(Commands commands) => commands.Of("connect",
        "Keep which server and which key are used, for this user alone.", ConnectAsync, _address, _keyFile);

    private static async Task<int> ConnectAsync(Session session, ParseResult asked)
    {
        var around = session.Around;
        var connection = new Connection(Connection.AddressOf(asked.GetValue(_address)!),
            Key(around, asked.GetValue(_keyFile)));
        using var client = new CashEventsClient(connection.Address, connection.Key,
            new CashEventsClientOptions { Retries = 0, Inner = around.Network() });
        KnownHousehold known;
        try
        {
            known = await KnownHousehold.AskAsync(around, connection, client, session.Stop).ConfigureAwait(false);
        }
        catch (HttpRequestException away)
        {
            throw new NotDoneException(ExitCode.Unreachable,
                $"{connection.Address} can't be reached: {away.Message} Nothing was kept.");
        }

        around.Out.WriteLine($"Kept in {connection.Keep(around)}: {connection.Address}, "
            + $"{known.Compartments.Count} compartments.");
        if (connection.Address is { Scheme: "http", IsLoopback: false })
        {
            session.Remark("Caution: over plain http others on the network can read the key and amounts on the way. "
                + "Put the server behind https.");
        }

        return ExitCode.Done;
    }

    private static string Key(Surroundings around, string? file)
    {
        if (file is null && around.IsTyped)
        {
            around.Error.Write("Key: ");
        }

        string key;
        try
        {
            key = (file is null or "-" ? around.In.ReadLine() ?? "" : File.ReadAllText(file)).Trim();
        }
        catch (Exception unread) when (unread is IOException or UnauthorizedAccessException)
        {
            throw NotDoneException.Usage($"The key can't be read: {unread.Message}");
        }

        return key.Length > 0 && key.All(c => c is > ' ' and <= '~') ? key
            : throw NotDoneException.Usage("There is no key. A key is one line of letters, figures and signs.");
    }
}
