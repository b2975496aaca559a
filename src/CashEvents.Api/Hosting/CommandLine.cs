using System.Collections.Immutable;

namespace CashEvents.Api.Hosting;

/// <summary>What the program was asked to do.</summary>
/// <param name="Demo">Load the demo household into an empty book.</param>
/// <param name="AddHousehold">Name of a household to add; null to serve.</param>
/// <param name="Verify">Check every book and tell whether its lines agree with their hashes.</param>
/// <param name="Rebuild">Rebuild what is kept beside the lines of every book.</param>
/// <param name="Help">Only say how the program is used.</param>
/// <param name="Settings">What ASP.NET Core reads itself, such as <c>--urls</c>.</param>
internal sealed record CommandLine(bool Demo, string? AddHousehold, bool Verify, bool Rebuild, bool Help,
    string[] Settings)
{
    /// <summary>Only say which version this is.</summary>
    public bool Version { get; init; }

    /// <summary>Households whose books are not served.</summary>
    public ImmutableHashSet<string> LeaveOut { get; init; } = [];

    /// <summary>How to listen on the home network; null to leave that.</summary>
    public LanAsked? Lan { get; init; }

    /// <summary>A backup to write or to take in; null for none.</summary>
    public BackupTask? Backup { get; init; }

    /// <summary>Tell how everything is.</summary>
    public bool Check { get; init; }

    /// <summary>A move to a newer PostgreSQL; null for none.</summary>
    public DatabaseUpgrade? UpgradeDatabase { get; init; }

    /// <summary>Of which book a lost keeper's key is replaced; null for none.</summary>
    public LostKey? NewKeeperKey { get; init; }

    /// <summary>A household to forget; null for none.</summary>
    public ForgetTask? Forget { get; init; }

    private const string Commands = """
        CashEvents keeps a household's cash book and serves it over HTTP.

          CashEvents.Api [--demo] [--urls http://127.0.0.1:5080] [--lan] [--leave-out HOUSEHOLD]
              Serves the books. With --demo it first loads a made-up household into an empty book.
              --leave-out serves the others while a book can't be rebuilt; it may be written several times.
              --lan also listens on the home network, over https, for phones: --lan=PORT for another port than
              5443, --lan=http over plain http, where everybody there can read along.
          CashEvents.Api add-household NAME
              Opens another household's book and prints its keeper's key.
              Asked again while that book is empty, it prints a new key.
          CashEvents.Api new-keeper-key [HOUSEHOLD] [--lost NAME]
              Issues a new keeper's key, prints it and revokes the lost one. A line in the book says so.
              Name the HOUSEHOLD where there are several, and the lost key's NAME where several keeper's keys
              are in use. With CASHEVENTS_KEEPER_KEY that key becomes the new one. A server may keep running.
          CashEvents.Api forget-household HOUSEHOLD [--lines N]
              Tells how many lines the book has, and with that number takes it out with all beside it.
              A server may keep running. Backups made before still have it.
          CashEvents.Api verify
              Checks every book. It says whether the lines agree with their hashes, or which is the first that
              does not, and whether balances and sheets agree with the lines.
              Ends with 0 when all agree, otherwise with 1.
          CashEvents.Api rebuild
              Makes everything that is kept beside the lines anew, compares it, and puts right what differs.
              A server may keep running.
          CashEvents.Api backup FILE [--household ID]
              Writes every book, or one, into a file, and reads it back. A server may keep running.
              Ends with 1 when a line does not agree with its hash.
          CashEvents.Api restore FILE [--household ID [--new-keeper]]
              Takes every book of a backup into an empty data folder or database, all or nothing; or one
              household's into a server that has none of it. --new-keeper then issues a new keeper's key for it
              and revokes the one from before.
          CashEvents.Api check
              Tells whether all is well: database, disk, clock, books, keys and backups, and what to do.
              Ends with 0 when it is, with 1 when something should be looked at, with 2 when something is wrong.
          CashEvents.Api upgrade-database [MAJOR]
              Moves the books into a newer PostgreSQL, the newest found or the one named, and keeps the old one.
              Stop the server before.
          CashEvents.Api --version
              Prints the version.

        Settings, as environment variables or as fields of a JSON file:
        """;

    /// <summary>How the program is used.</summary>
    public static string Usage => Commands + Environment.NewLine + Setting.Listed;

    /// <summary>Reads the arguments.</summary>
    /// <exception cref="StartException">One is not known.</exception>
    public static CommandLine Read(string[] args)
    {
        if (args is ["add-household", ..])
        {
            return args is [_, { Length: > 0 } name] && !name.StartsWith('-')
                ? new CommandLine(false, name, false, false, false, [])
                : throw new StartException("Name the household to add: add-household \"Harbour Row\".");
        }

        if (args is ["new-keeper-key", .. var about])
        {
            return new CommandLine(false, null, false, false, false, []) { NewKeeperKey = LostKey.Read(about) };
        }

        if (args is ["forget-household", .. var whom])
        {
            return new CommandLine(false, null, false, false, false, []) { Forget = ForgetTask.Read(whom) };
        }

        if (args is ["upgrade-database", .. var to])
        {
            return new CommandLine(false, null, false, false, false, []) { UpgradeDatabase = DatabaseUpgrade.Read(to) };
        }

        if (args is ["check"])
        {
            return new CommandLine(false, null, false, false, false, []) { Check = true };
        }

        if (args is ["backup" or "restore", .. var backup])
        {
            return new CommandLine(false, null, false, false, false, []) { Backup = BackupTask.Read(args[0], backup) };
        }

        if (args is ["verify" or "rebuild" or "check", ..])
        {
            return args.Length == 1
                ? new CommandLine(false, null, args[0] == "verify", args[0] == "rebuild", false, [])
                : throw new StartException($"'{args[1]}' is not known: {args[0]} is about every book and is written "
                    + $"alone.");
        }

        return ReadServing(args);
    }

    private static CommandLine ReadServing(string[] args)
    {
        var settings = new List<string>();
        var leaveOut = new List<string>();
        LanAsked? lan = null;
        for (var i = 0; i < args.Length; i++)
        {
            if (args[i] is "--help" or "-h")
            {
                return new CommandLine(false, null, false, false, true, []);
            }

            if (args[i] == "--version")
            {
                return new CommandLine(false, null, false, false, false, []) { Version = true };
            }

            if (args[i] == "--demo")
            {
                continue;
            }

            if (args[i] == "--lan" || args[i].StartsWith("--lan=", StringComparison.Ordinal))
            {
                lan = LanAsked.Read(args[i]);
                continue;
            }

            if (args[i] == "--leave-out")
            {
                leaveOut.Add(++i < args.Length && !args[i].StartsWith('-')
                    ? args[i]
                    : throw new StartException("Name the household whose book is left out: --leave-out harbour-row."));
                continue;
            }

            // Settings of ASP.NET Core: --urls VALUE, --urls=VALUE, --Section:Name VALUE.
            var known = args[i].StartsWith("--urls", StringComparison.Ordinal)
                || (args[i].StartsWith("--", StringComparison.Ordinal)
                    && args[i].Contains(':', StringComparison.Ordinal));
            if (!known)
            {
                throw new StartException($"'{args[i]}' is not known.{Environment.NewLine}{Environment.NewLine}{Usage}");
            }

            settings.Add(args[i]);
            if (!args[i].Contains('=', StringComparison.Ordinal))
            {
                settings.Add(++i < args.Length ? args[i] : throw new StartException($"'{args[i - 1]}' needs a value."));
            }
        }

        return new CommandLine(args.Contains("--demo"), null, false, false, false, [.. settings])
        {
            LeaveOut = [.. leaveOut],
            Lan = lan,
        };
    }
}

/// <summary>A keeper's key that was lost.</summary>
/// <param name="Household">Whose book it opened; null where there is one book.</param>
/// <param name="Name">Its name; null where the book has one keeper's key.</param>
internal sealed record LostKey(string? Household, string? Name)
{
    /// <summary>Reads what stands behind <c>new-keeper-key</c>.</summary>
    /// <exception cref="StartException">It can't be read.</exception>
    public static LostKey Read(string[] args) => args switch
    {
        [] => new(null, null),
        ["--lost", { Length: > 0 } name] => new(null, name),
        [{ Length: > 0 } household] when !household.StartsWith('-') => new(household, null),
        [{ Length: > 0 } household, "--lost", { Length: > 0 } name] when !household.StartsWith('-') =>
            new(household, name),
        ["--lost", { Length: > 0 } name, { Length: > 0 } household] when !household.StartsWith('-') =>
            new(household, name),
        _ => throw new StartException("Write new-keeper-key, then the household where there are several, then the lost "
            + "key's name where the book has several keeper's keys: new-keeper-key \"Harbour Row\" --lost \"keeper\"."),
    };
}

/// <summary>The program can't start; the message says why and the mend.</summary>
internal sealed class StartException(string message) : Exception(message);
