using System.CommandLine;

namespace CashEvents.Cash.Counts;

/// <summary>Posts what a count is over or short, so that the book agrees with the notes.</summary>
internal static class SettleCommand
{
    public static Command Make(Commands commands)
    {
        var count = new Argument<long>("count") { Description = "The count's number." };
        var reason = new Option<string?>("--reason") { Description = "Why it is accepted.", HelpName = "why" };
        var explanation = new Option<string?>("--by")
        {
            Description = "The code of an explanation that cash explain lists.",
            HelpName = "code",
        };
        var on = Days.Option();
        on.Description = "The day of the over or short; today if left out.";
        return commands.Of("settle", "Accept what a count is over or short, or put it right by an explanation.",
            async (session, asked) =>
            {
                var request = session.Client.Api.Counts[asked.GetValue(count)].Settlement.ToPostRequestInformation(
                    new SettlementRequest
                    {
                        Reason = asked.GetValue(reason),
                        Explanation = asked.GetValue(explanation),
                        OccurredOn = asked.GetValue(on) is { } day
                            ? (await Days.OfAsync(session, day).ConfigureAwait(false)).Day : null,
                    });
                await SentWords.SayAsync(session, await session.TextAsync(request).ConfigureAwait(false))
                    .ConfigureAwait(false);
            }, count, reason, explanation, on);
    }
}
