using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>What the program prints when it has started.</summary>
/// <param name="addresses">Where it listens.</param>
/// <param name="log">Where it goes when nobody sits before it: without keys, links and amounts, since a log is kept
/// and read by others. Null for the console.</param>
internal sealed class Greeting(ICollection<string> addresses, ILogger? log = null)
{
    private static readonly string[] Heading = ["wallet", "compartment", "cash", "bank", "total"];

    private readonly List<string> _notes = [];
    private string? _keyInCommands;
    private string? _code;
    private bool _isSafe;

    /// <summary>A code with which the page opens once, signed in as keeper.</summary>
    public void TellPage(string code) => _code = code;

    public void Tell(KeeperKey key)
    {
        if (key.File is null)
        {
            TellGiven(isKeepers: true);
        }
        else if (log is not null)
        {
            _notes.Add($"The keeper's key was made now, and is kept in {key.File}.");
        }
        else
        {
            _notes.Add($"The keeper's key, shown this once and kept in {key.File}:");
            _notes.Add($"  {key.Plain}");
            _keyInCommands = $"$(cat {key.File})";
        }
    }

    public void TellGiven(bool isKeepers)
    {
        if (isKeepers)
        {
            _notes.Add($"The keeper's key is the one in {KeeperKey.Variable}.");
            _keyInCommands = $"${KeeperKey.Variable}";
        }
        else
        {
            _notes.Add($"Caution: the key in {KeeperKey.Variable} is not a keeper's key of this book. Nothing was "
                + $"changed, and the book's own keys still work. If they are lost, run the program once with: "
                + $"new-keeper-key");
        }
    }

    public void TellKept(string file, bool isKeepers)
    {
        if (isKeepers)
        {
            _notes.Add($"The keeper's key is kept in {file}.");
            _keyInCommands ??= $"$(cat {file})";
        }
        else
        {
            _notes.Add($"Caution: the key kept in {file} is no longer a keeper's key of this book. If the right one "
                + $"is lost, run the program once with: new-keeper-key");
        }
    }

    public void TellNoneKept() => _notes.Add("No key is kept here: the keys that were issued open the book. If the "
        + "keeper's is lost, run the program once with: new-keeper-key");

    public void TellDemoNotLoaded(long lines) =>
        _notes.Add($"The book has {lines.ToString(CultureInfo.InvariantCulture)} lines already. The demo household was "
            + $"not loaded, and nothing was changed.");

    public void TellLeftOut(IReadOnlyCollection<string> households)
    {
        if (households.Count > 0)
        {
            _notes.Add($"Caution: left out, and answered to nobody: {string.Join(", ", households.Order())}. Find out "
                + $"why with verify, put it right, and start without --leave-out.");
        }
    }

    /// <summary>How phones on the home network reach the program.</summary>
    public void TellNetwork(HomeNetwork network, string? address)
    {
        _isSafe = !network.IsPlain;
        if (address is null)
        {
            _notes.Add("This machine is on no network now, so that no phone reaches it.");
        }
        else if (network.IsPlain)
        {
            _notes.Add($"On the home network: {address}. Over plain http the page does not open without the server.");
        }
        else
        {
            _notes.Add($"On the home network: {address}");
        }

        if (network.Authority is { } authority)
        {
            _notes.Add("A phone has to trust the certificates of this machine first: "
                + $"{address}{TrustEndpoints.Address}");
            var made = authority.IsNew
                ? "The authority that vouches for them was made just now. Its" : "The authority's";
            _notes.Add($"{made} fingerprint, to compare there:");
            _notes.Add($"  {authority.Fingerprint}");
        }
    }

    /// <param name="book">The first book; null when it is left out.</param>
    public void Say(Book? book)
    {
        var address = addresses.First();
        Say($"CashEvents listens on {string.Join(", ", addresses)}");
        Say($"This is version {ProgramVersion.Text}.");
        if (addresses.Any(a => !(_isSafe && a.StartsWith("https:", StringComparison.Ordinal)) && !new Uri(
            a.Replace("//+", "//0.0.0.0", StringComparison.Ordinal)
                .Replace("//*", "//0.0.0.0", StringComparison.Ordinal)).IsLoopback))
        {
            Say("Caution: others on the network can reach it. Over plain http they can read keys and amounts on the "
                + "way. Put it behind https, or listen on 127.0.0.1 only.");
        }

        _notes.ForEach(Say);
        if (log is null)
        {
            SayWhatToTry(book, address);
        }

        Say($"A page to open in a browser, with every address and an example of each: {address}/swagger");
    }

    private void Say(string line)
    {
        if (log is null)
        {
            Console.WriteLine(line);
        }
        else
        {
            log.LogInformation("{Line}", line.Trim());
        }
    }

    private void SayWhatToTry(Book? book, string address)
    {
        Console.WriteLine();
        if (book is not null)
        {
            SayWhatToRead(book, address);
        }

        if (_code is not null)
        {
            Console.WriteLine("The household's page, signed in as keeper. The link is good once, and at this machine:");
            Console.WriteLine($"  {AtThisMachine(address)}/enter#{_code}");
        }
    }

    // An address that listens to all is none to go to.
    private static string AtThisMachine(string address) => address
        .Replace("//+", "//127.0.0.1", StringComparison.Ordinal).Replace("//*", "//127.0.0.1", StringComparison.Ordinal)
        .Replace("//0.0.0.0", "//127.0.0.1", StringComparison.Ordinal)
        .Replace("//[::]", "//127.0.0.1", StringComparison.Ordinal);

    private void SayWhatToRead(Book book, string address)
    {
        if (book.Compartments.Count > 0)
        {
            Table(BalancesAnswer.Of(book));
            Console.WriteLine();
        }

        Console.WriteLine(_keyInCommands is null
            ? "Three things to try, with your key in KEY. They only read:"
            : "Three things to try. They only read:");
        if (_keyInCommands is not null)
        {
            Console.WriteLine($"  KEY={_keyInCommands}");
        }

        foreach (var (path, form) in Readings(book))
        {
            Console.WriteLine($"  curl -s \"{address}{path}\" -H \"Authorization: Bearer "
                + $"$KEY\"{(form is null ? "" : $" -H 'Accept: {form}'")}");
        }

        if (book.Compartments.Count == 0)
        {
            Console.WriteLine("The book has no compartment yet. First name the household's currency (PUT "
                + "/api/household). Then add a wallet (POST /api/wallets) and its compartments "
                + "(POST /api/compartments).");
        }
    }

    // Whoever runs them may keep a real book here, so none of them writes.
    private static IEnumerable<(string Path, string? Form)> Readings(Book book)
    {
        yield return ("/api/household", null);
        if (book.Compartments.Values.FirstOrDefault(c => !c.Closed) is not { } compartment)
        {
            yield return ("/api/keys", null);
            yield return ("/api/lines", "text/csv");
            yield break;
        }

        yield return ("/api/balances", null);
        yield return ($"/api/compartments/{compartment.Id}/tracker", "text/csv");
    }

    private static void Table(BalancesAnswer balances)
    {
        var rows = new List<string[]> { Heading };
        foreach (var wallet in balances.Wallets)
        {
            rows.AddRange(balances.Compartments.Where(c => c.Wallet == wallet.Wallet)
                .Select(c => new[] { wallet.Label, c.Label, Say(c.Cash), Say(c.Bank), Say(c.Total) }));
        }

        var (name, cash, bank, total) = balances.Household;
        rows.Add([name, $"all, in {balances.Currency}", Say(cash), Say(bank), Say(total)]);
        var widths = Enumerable.Range(0, rows[0].Length).Select(column => rows.Max(row => row[column].Length))
            .ToArray();
        foreach (var (row, i) in rows.Select((row, i) => (row, i)))
        {
            if (i == 1 || i == rows.Count - 1)
            {
                Console.WriteLine("  " + string.Join("  ", widths.Select(w => new string('-', w))));
            }

            Console.WriteLine("  " + string.Join("  ",
                row.Select((cell, column) =>
                    column < 2 ? cell.PadRight(widths[column]) : cell.PadLeft(widths[column]))));
        }
    }

    private static string Say(decimal amount) => amount.ToString(CultureInfo.InvariantCulture);
}
