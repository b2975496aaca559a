using System.Globalization;
using CashEvents.Api.Balances;
using CashEvents.Domain.Books;

namespace CashEvents.Api.Hosting;

/// <summary>What the program prints when it has started.</summary>
internal sealed class Greeting(ICollection<string> addresses)
{
    private static readonly string[] Heading = ["wallet", "compartment", "cash", "bank", "total"];

    private readonly List<string> _notes = [];
    private string? _keyInCommands;

    public void Tell(KeeperKey key)
    {
        if (key.File is null)
        {
            _notes.Add($"The keeper's key is the one in {KeeperKey.Variable}.");
            _keyInCommands = $"${KeeperKey.Variable}";
            if (key.IsShort)
            {
                _notes.Add("It is short, and a short key can be guessed by trying: keep to this machine, or issue a longer one.");
            }
        }
        else
        {
            _notes.Add($"The keeper's key, shown this once and kept in {key.File}:");
            _notes.Add($"  {key.Plain}");
            _keyInCommands = $"$(cat {key.File})";
        }
    }

    public void TellWhereTheKeyIs(string file)
    {
        if (File.Exists(file))
        {
            _notes.Add($"The keeper's key is kept in {file}.");
            _keyInCommands = $"$(cat {file})";
        }
    }

    public void TellDemoNotLoaded(long lines) =>
        _notes.Add($"The book has {lines.ToString(CultureInfo.InvariantCulture)} lines already: the demo household was not loaded, and nothing was changed.");

    public void Say(Book book)
    {
        var address = addresses.First();
        Console.WriteLine($"CashEvents listens on {string.Join(", ", addresses)} (its pages: {address}/swagger)");
        if (addresses.Any(a => !new Uri(a.Replace("//+", "//0.0.0.0", StringComparison.Ordinal).Replace("//*", "//0.0.0.0", StringComparison.Ordinal)).IsLoopback))
        {
            Console.WriteLine("Caution: others on the network can reach it. Over plain http keys and amounts can be read on the way; put it behind https, or listen on 127.0.0.1 only.");
        }

        _notes.ForEach(Console.WriteLine);
        Console.WriteLine();
        if (book.Compartments.Count > 0)
        {
            Table(BalancesAnswer.Of(book));
            Console.WriteLine();
        }

        var (compartment, to) = Two(book);
        Console.WriteLine(_keyInCommands is null ? "Three things to try, with your key in KEY:" : "Three things to try:");
        if (_keyInCommands is not null)
        {
            Console.WriteLine($"  KEY={_keyInCommands}");
        }

        Console.WriteLine($"  curl -s {address}/api/balances -H \"Authorization: Bearer $KEY\"");
        if (compartment is null)
        {
            Console.WriteLine($"  curl -s -X PUT {address}/api/household -H \"Authorization: Bearer $KEY\" -H 'Content-Type: application/json' \\");
            Console.WriteLine("    -d '{\"name\": \"Harbour Row\", \"currency\": \"EUR\", \"timeZone\": \"Europe/Dublin\"}'");
            Console.WriteLine($"  curl -s {address}/api/wallets -H \"Authorization: Bearer $KEY\" -H 'Content-Type: application/json' -d '{{\"label\": \"Oilskin wallet\"}}'");
        }
        else
        {
            Console.WriteLine($"  curl -s {address}/api/spends -H \"Authorization: Bearer $KEY\" -H 'Content-Type: application/json' \\");
            Console.WriteLine($"    -d '{{\"compartment\": \"{compartment}\", \"amount\": 2.50, \"description\": \"First try\", \"coverFrom\": \"{to}\"}}'");
            Console.WriteLine($"  curl -s {address}/api/compartments/{compartment}/tracker -H \"Authorization: Bearer $KEY\" -H 'Accept: text/csv'");
        }
    }

    private static (string? Fullest, string? Next) Two(Book book)
    {
        var byCash = book.Compartments.Values.Where(c => !c.Closed).OrderByDescending(c => c.Purpose == Domain.Compartments.Purpose.Spending).ThenByDescending(c => c.Cash).Take(2).ToList();
        return byCash.Count < 2 || book.Household?.Currency is not { Exponent: 2 } ? (null, null) : (byCash[0].Id, byCash[1].Id);
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
        var widths = Enumerable.Range(0, rows[0].Length).Select(column => rows.Max(row => row[column].Length)).ToArray();
        foreach (var (row, i) in rows.Select((row, i) => (row, i)))
        {
            if (i == 1 || i == rows.Count - 1)
            {
                Console.WriteLine("  " + string.Join("  ", widths.Select(w => new string('-', w))));
            }

            Console.WriteLine("  " + string.Join("  ", row.Select((cell, column) => column < 2 ? cell.PadRight(widths[column]) : cell.PadLeft(widths[column]))));
        }
    }

    private static string Say(decimal amount) => amount.ToString(CultureInfo.InvariantCulture);
}
