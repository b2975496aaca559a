using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>Money leaves to a seller.</summary>
internal static class SpendCommand
{
    public static Command Make(Commands commands)
    {
        var compartment = commands.Names.Compartment("compartment", "What it is paid from.");
        var (amount, words, on) = (MovementSymbols.Amount(), MovementSymbols.Words(), Days.Option());
        var bank = MovementSymbols.Bank();
        var restFrom = commands.Names.CompartmentOption("--rest-from", "Where the rest comes from if it lacks some.");
        var goal = new Option<string?>("--bill")
        {
            Description = "The goal whose next bill it pays.",
            HelpName = "goal",
        };
        return commands.Of("spend", "Record a spend: money leaves to a seller.", (session, asked) =>
        {
            var spend = new SpendRequest
            {
                Compartment = asked.GetValue(compartment),
                Amount = asked.GetValue(amount),
                Description = asked.GetValue(words),
                RestFrom = asked.GetValue(restFrom),
                Goal = asked.GetValue(goal),
                Holding = MovementSymbols.HoldingOf(asked.GetValue(bank)),
            };
            return Recording.RecordAsync(session,
                MovementSymbols.Said(session, "spend", spend.Compartment, spend.Amount, spend.Description),
                "/api/spends", asked.GetValue(on), [spend.Compartment, spend.RestFrom], day =>
                {
                    spend.OccurredOn = day;
                    return spend;
                });
        }, compartment, amount, words, on, bank, restFrom, goal);
    }
}
