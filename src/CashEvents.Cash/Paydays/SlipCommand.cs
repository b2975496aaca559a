using System.CommandLine;

namespace CashEvents.Cash.Paydays;

/// <summary>The notes to ask the bank for.</summary>
internal static class SlipCommand
{
    public static Command Make(Commands commands)
    {
        var payday = PaydayCommand.Payday();
        var pay = Movements.MovementSymbols.AmountOption("--pay", "What was paid, if it is not what is known.");
        return commands.Of("slip", "Show which notes to ask the bank for on a payday, and how to pack them.",
            async (session, asked) =>
            {
                var day = await PaydayCommand.DayAsync(session, asked.GetValue(payday)).ConfigureAwait(false);
                await session.ShowAsync(session.Client.Api.FillRuns[day].DrawSlip.ToGetRequestInformation(request =>
                    request.QueryParameters.Pay = asked.GetValue(pay)), DrawSlipAnswer.CreateFromDiscriminatorValue,
                    answer => Of(session, answer)).ConfigureAwait(false);
            }, payday, pay);
    }

    private static Sheet[] Of(Session session, DrawSlipAnswer answer) =>
    [
        new(["note", "how many"], answer.Ask!.Select(IReadOnlyList<object?> (piece) => [piece.Value, piece.Count]))
        {
            Heading = $"To draw: {session.Figures.Write(answer.Draw!.Value)}",
        },
        new(["compartment", "gets", "in"], answer.Compartments!.Select(IReadOnlyList<object?> (c) =>
            [c.Compartment, c.Packed, string.Join(' ', c.Pieces!.Select(piece =>
                $"{session.Figures.Write(piece.Value!.Value)}x{piece.Count}"))]))
        {
            Notes = [.. (answer.Cautions ?? []).Select(caution => caution.Detail)],
        },
    ];
}
