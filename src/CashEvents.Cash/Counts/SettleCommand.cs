using System.CommandLine;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;

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
        var sameAs = new Option<long?>("--same-as")
        {
            Description = "A line that cash explain names: it is the one that seems not recorded. It is put right.",
            HelpName = "line",
        };
        var on = Days.Option();
        on.Description = "The day of the over or short; today if left out.";
        return commands.Of("settle", "Accept what a count is over or short, or put it right by an explanation.",
            async (session, asked) =>
            {
                if (asked.GetValue(sameAs) is { } line)
                {
                    await PutRightAsync(session, asked.GetValue(count), line).ConfigureAwait(false);
                    return;
                }

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
            }, count, reason, explanation, sameAs, on);
    }

    // What puts that line right was told with the explanations.
    private static async Task PutRightAsync(Session session, long count, long line)
    {
        var told = await session.JsonAsync($"/api/counts/{count}/explanations").ConfigureAwait(false);
        var lines = (from explanation in told.GetProperty("explanations").EnumerateArray()
                     from mistake in explanation.GetProperty("mistakes").EnumerateArray()
                     where mistake.TryGetProperty("mayBe", out var there) && there.ValueKind == JsonValueKind.Array
                     from mayBe in mistake.GetProperty("mayBe").EnumerateArray()
                     where mayBe.GetProperty("line").GetInt64() == line
                     select mayBe.GetProperty("request")).ToList();
        if (lines is not [var ready, ..])
        {
            throw new NotDoneException(ExitCode.Refused, $"No explanation of count {count} says that it may be line "
                + $"{line}. Ask again with: {Commands.Name} explain {count}");
        }

        using var request = new HttpRequestMessage(HttpMethod.Post, ready.GetProperty("path").GetString())
        {
            Content = new StringContent(ready.GetProperty("body").GetRawText(), Encoding.UTF8,
                new MediaTypeHeaderValue("application/json")),
            Headers = { { "Accept", "application/json" } },
        };
        using var answer = await session.Client.Http.SendAsync(request, session.Stop).ConfigureAwait(false);
        await SentWords.SayAsync(session, await answer.Content.ReadAsStringAsync(session.Stop).ConfigureAwait(false))
            .ConfigureAwait(false);
    }
}
