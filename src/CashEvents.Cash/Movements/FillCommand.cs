using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>Money enters a compartment from outside the book.</summary>
internal static class FillCommand
{
    public static Command Make(Commands commands)
    {
        var compartment = commands.Names.Compartment("compartment", "Where it goes.");
        var (amount, words, on) = (MovementSymbols.Amount(), MovementSymbols.Words(), Days.Option());
        var bank = MovementSymbols.Bank();
        return commands.Of("fill", "Record a fill: money from outside, such as a gift.", (session, asked) =>
        {
            var fill = new FillRequest
            {
                Compartment = asked.GetValue(compartment),
                Amount = asked.GetValue(amount),
                Description = asked.GetValue(words),
                Holding = MovementSymbols.HoldingOf(asked.GetValue(bank)),
            };
            return Recording.RecordAsync(session,
                MovementSymbols.Said(session, "fill", fill.Compartment, fill.Amount, fill.Description),
                "/api/fills", asked.GetValue(on), [fill.Compartment], day =>
                {
                    fill.OccurredOn = day;
                    return fill;
                });
        }, compartment, amount, words, on, bank);
    }
}
