using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>Leftovers of several compartments move into one.</summary>
internal static class SweepCommand
{
    public static Command Make(Commands commands)
    {
        var into = commands.Names.Compartment("into", "Where all of it goes.");
        var from = commands.Names.Compartments("from", "The compartments that give; or else a wallet or a purpose.");
        from.Arity = ArgumentArity.ZeroOrMore;
        var wallet = commands.Names.WalletOption("--wallet", "All compartments of this wallet.");
        var purpose = new Option<Purpose?>("--purpose") { Description = "All compartments of this purpose." };
        var leave = MovementSymbols.AmountOption("--leave", "What to leave in each.");
        var broughtForward = new Option<bool>("--brought-forward")
        {
            Description = "Only what was there before the last fill.",
        };
        var on = Days.Option();
        return commands.Of("sweep", "Sweep leftovers into one compartment.", (session, asked) =>
        {
            var given = asked.GetValue(from) ?? [];
            if (new[] { given.Length > 0, asked.GetValue(wallet) is not null, asked.GetValue(purpose) is not null }
                .Count(said => said) != 1)
            {
                throw NotDoneException.Usage("Say what is swept: compartments, or --wallet, or --purpose.");
            }

            var sweep = new SweepRequest
            {
                To = new PartRef { Compartment = asked.GetValue(into) },
                From = new SweptFrom
                {
                    Compartments = given.Length > 0 ? [.. given] : null,
                    Wallet = asked.GetValue(wallet),
                    Purpose = asked.GetValue(purpose),
                },
                Leave = asked.GetValue(leave),
                Take = asked.GetValue(broughtForward) ? SweepTake.BroughtForward : SweepTake.All,
            };
            return Recording.RecordAsync(session, MovementSymbols.Said(session, "sweep",
                [asked.GetValue(into), .. given, asked.GetValue(wallet), asked.GetValue(purpose)]),
                "/api/sweeps", asked.GetValue(on), [.. given, asked.GetValue(into)], day =>
                {
                    sweep.OccurredOn = day;
                    return sweep;
                });
        }, into, from, wallet, purpose, leave, broughtForward, on);
    }
}
