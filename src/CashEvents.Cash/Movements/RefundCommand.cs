using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>Money comes back from a seller.</summary>
internal static class RefundCommand
{
    public static Command Make(Commands commands)
    {
        var compartment = commands.Names.Compartment("compartment", "Where it goes.");
        var (amount, words, on) = (MovementSymbols.Amount(), MovementSymbols.Words(), Days.Option());
        var bank = MovementSymbols.Bank();
        return commands.Of("refund", "Record a refund: money comes back from a seller.", (session, asked) =>
        {
            var refund = new RefundRequest
            {
                Compartment = asked.GetValue(compartment),
                Amount = asked.GetValue(amount),
                Description = asked.GetValue(words),
                Holding = MovementSymbols.HoldingOf(asked.GetValue(bank)),
            };
            return Recording.RecordAsync(session,
                MovementSymbols.Said(session, "refund", refund.Compartment, refund.Amount, refund.Description),
                "/api/refunds", asked.GetValue(on), [refund.Compartment], day =>
                {
                    refund.OccurredOn = day;
                    return refund;
                });
        }, compartment, amount, words, on, bank);
    }
}
