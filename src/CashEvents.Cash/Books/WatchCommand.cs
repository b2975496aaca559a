using System.CommandLine;
using System.Net;
using System.Text.Json;

namespace CashEvents.Cash.Books;

/// <summary>Shows each line as it is written.</summary>
internal static class WatchCommand
{
    public static Command Make(Commands commands)
    {
        var every = new Option<int>("--every")
        {
            Description = "How often to ask, in seconds.",
            DefaultValueFactory = _ => 5,
            HelpName = "seconds",
        };
        var after = new Option<long?>("--after") { Description = "Begin after this line.", HelpName = "line" };
        return commands.Of("watch", "Show each line of the book as it is written, until it is stopped (Ctrl-C).",
            (session, asked) => WatchAsync(session, TimeSpan.FromSeconds(Math.Max(1, asked.GetValue(every))),
                asked.GetValue(after)), every, after);
    }

    private static async Task WatchAsync(Session session, TimeSpan pause, long? after)
    {
        var last = after ?? (await session.Client.Api.Today.GetAsync(cancellationToken: session.Stop)
            .ConfigureAwait(false))!.BookLine!.Value;
        var (tag, away) = ((string?)null, false);
        try
        {
            while (true)
            {
                try
                {
                    (last, tag) = await LookAsync(session, last, tag).ConfigureAwait(false);
                    away = false;
                }
                catch (Exception gone) when (Sending.IsNoAnswer(gone))
                {
                    if (!away)
                        session.Remark($"{Refusals.Unreachable(session, gone)} Looking again.");
                    away = true;
                }

                await Task.Delay(pause, session.Stop).ConfigureAwait(false);
            }
        }
        catch (OperationCanceledException)
        {
            // It was stopped, as it has to be.
        }
    }

    // While nothing is new, the server answers 304 and sends nothing.
    private static async Task<(long Last, string? Tag)> LookAsync(Session session, long last, string? tag)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, $"/api/lines?limit=1000&after={last}");
        if (tag is not null)
            request.Headers.TryAddWithoutValidation("If-None-Match", tag);
        using var answer = await session.Client.Http.SendAsync(request, session.Stop).ConfigureAwait(false);
        if (answer.StatusCode == HttpStatusCode.NotModified)
        {
            return (last, tag);
        }

        var lines = JsonElement.Parse(await answer.Content.ReadAsStringAsync(session.Stop).ConfigureAwait(false))
            .GetProperty("lines").EnumerateArray().ToList();
        foreach (var line in lines)
            session.Around.Out.WriteLine(session.Form == OutputForm.Json ? line.GetRawText() : Words(session, line));
        await session.Around.Out.FlushAsync(session.Stop).ConfigureAwait(false);
        return lines.Count == 0 ? (last, answer.Headers.ETag?.ToString())
            : (lines[^1].GetProperty("line").GetInt64(), null);
    }

    private static string Words(Session session, JsonElement line) => string.Join("  ", LineWords.Row(line, null)
        .Select(cell => cell is decimal amount ? session.Figures.Write(amount) : $"{cell}")
        .Where(cell => cell.Length > 0));
}
