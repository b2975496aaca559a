using System.CommandLine;

namespace CashEvents.Cash.Counts;

/// <summary>The notes and coins found in a compartment.</summary>
internal static class CountCommand
{
    public static Command Make(Commands commands)
    {
        var compartment = commands.Names.Compartment("compartment", "What was counted.");
        var found = new Argument<string[]>("found")
        {
            Description = "Notes and coins by face value, such as 20x1 5x2 0.50x3, or one total.",
            Arity = ArgumentArity.OneOrMore,
        };
        var witness = new Option<string?>("--witness") { Description = "Who else was there.", HelpName = "who" };
        var (bank, on) = (Movements.MovementSymbols.Bank(), Days.Option());
        return commands.Of("count", "Record a count. It moves no money.", (session, asked) =>
        {
            var read = Found.Read(asked.GetValue(found)!);
            var count = new CountRequest
            {
                Compartment = asked.GetValue(compartment),
                Holding = Movements.MovementSymbols.HoldingOf(asked.GetValue(bank)),
                Total = read.Bare,
                Denominations = read.Pieces.Count == 0 ? null : new CountFields_denominations
                {
                    AdditionalData = read.Pieces.ToDictionary(piece => piece.Key, object (piece) => piece.Value),
                },
                Witness = asked.GetValue(witness),
            };
            return Recording.RecordAsync(session,
                Movements.MovementSymbols.Said(session, "count", [count.Compartment, .. asked.GetValue(found)!]),
                "/api/counts", asked.GetValue(on), [count.Compartment], day =>
                {
                    count.OccurredOn = day;
                    return count;
                });
        }, compartment, found, witness, bank, on);
    }
}
