using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>Undoes a line; both stay in the book.</summary>
internal static class UndoCommand
{
    public static Command Make(Commands commands)
    {
        var line = new Argument<int>("line") { Description = "Its number." };
        var reason = MovementSymbols.Reason();
        return commands.Of("undo", "Undo a line of the book. Both lines stay visible.", async (session, asked) =>
        {
            var request = session.Client.Api.Lines[asked.GetValue(line)].Reversal.ToPostRequestInformation(
                new ReversalRequest { Reason = asked.GetValue(reason) });
            await SentWords.SayAsync(session, await session.TextAsync(request).ConfigureAwait(false))
                .ConfigureAwait(false);
        }, line, reason);
    }
}
