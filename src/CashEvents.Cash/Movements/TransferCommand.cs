using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>Money moves between two places of the book.</summary>
internal static class TransferCommand
{
    public static Command Make(Commands commands)
    {
        var from = commands.Names.Compartment("from", "Where it comes from.");
        var to = commands.Names.Compartment("to", "Where it goes.");
        var (amount, words, on) = (MovementSymbols.Amount(), MovementSymbols.Words(), Days.Option());
        var (fromBank, toBank) = (MovementSymbols.Bank("--from-bank"), MovementSymbols.Bank("--to-bank"));
        return commands.Of("transfer", "Record a transfer between two compartments, or between cash and bank of one.",
            (session, asked) =>
            {
                var transfer = new TransferRequest
                {
                    From = Part(asked.GetValue(from)!, asked.GetValue(fromBank)),
                    To = Part(asked.GetValue(to)!, asked.GetValue(toBank)),
                    Amount = asked.GetValue(amount),
                    Description = asked.GetValue(words),
                };
                return Recording.RecordAsync(session, MovementSymbols.Said(session, "transfer",
                    transfer.From.Compartment, transfer.To.Compartment, transfer.Amount, transfer.Description),
                    "/api/transfers", asked.GetValue(on), [transfer.From.Compartment, transfer.To.Compartment], day =>
                    {
                        transfer.OccurredOn = day;
                        return transfer;
                    });
            }, from, to, amount, words, on, fromBank, toBank);
    }

    private static PartRef Part(string compartment, bool bank) =>
        new() { Compartment = compartment, Holding = MovementSymbols.HoldingOf(bank) };
}
