using System.CommandLine;
using System.Text.Json;

namespace CashEvents.Cash.Writing;

/// <summary>What waits to be sent.</summary>
internal static class WaitingCommand
{
    public static Command Make(Commands commands) => commands.Of("waiting",
        "List the movements that wait to be sent, and those that the book refused.", ShowAsync);

    private static async Task ShowAsync(Session session, ParseResult asked)
    {
        using var waiting = await Waiting.OpenAsync(session.Around, session.Stop).ConfigureAwait(false);
        if (session.Form == OutputForm.Json)
        {
            session.Say("", JsonSerializer.Serialize(waiting.Movements, JsonSerializerOptions.Web));
            return;
        }

        session.Show(
        [
            new Sheet(["number", "typed", "movement", "day", "refused"],
                waiting.Movements.Select(IReadOnlyList<object?> (m) =>
                [m.Number, $"{m.At.ToLocalTime():yyyy-MM-dd HH:mm}", m.Movement.Said,
                    m.Movement.Body.GetProperty("occurredOn").GetString(), m.Refused]))
            {
                Notes = [waiting.Movements.Count == 0 ? "Nothing waits." : null],
            },
        ]);
    }
}

/// <summary>Sends what waits.</summary>
internal static class SendCommand
{
    private static readonly Option<bool> _refused = new("--refused")
    {
        Description = "Send again what the book refused, too.",
    };

    public static Command Make(Commands commands) => commands.Of("send",
        "Send the movements that wait, in the order in which they were typed, each once.", SendAsync, _refused);

    private static async Task<int> SendAsync(Session session, ParseResult asked)
    {
        using var waiting = await Waiting.OpenAsync(session.Around, session.Stop).ConfigureAwait(false);
        var elsewhere = waiting.Movements.Count(movement => !Sending.IsFor(movement, session.Connection));
        var (sent, stopped) = await Sending.SendAsync(session, waiting, asked.GetValue(_refused)).ConfigureAwait(false);
        SentWords.TellOthers(session, sent);
        var (written, refused) = (sent.Count(one => one.Problem is null), sent.Count(one => one.Problem is not null));
        session.Say($"{written} sent, {refused} refused, {waiting.Movements.Count} left.",
            JsonSerializer.Serialize(new { sent = written, refused, left = waiting.Movements.Count }));
        if (elsewhere > 0)
        {
            session.Remark($"{elsewhere} were recorded for another server or with another key. They go out once that "
                + "connection is back, or are dropped with cash forget.");
        }

        return stopped switch
        {
            CashEventsProblemException problem => Refusals.Tell(session, problem),
            not null => Unreachable(session, stopped),
            null => sent.All(one => one.Problem is null) ? ExitCode.Done : ExitCode.Refused,
        };
    }

    private static int Unreachable(Session session, Exception why)
    {
        session.Remark(Refusals.Unreachable(session, why));
        return ExitCode.Unreachable;
    }
}

/// <summary>Drops a movement that nobody wants to send any more.</summary>
internal static class ForgetCommand
{
    private static readonly Argument<int> _number = new("number") { Description = "Its number on the list." };

    public static Command Make(Commands commands) => commands.Of("forget",
        "Drop a movement from the list of what waits. It is not sent.", ForgetAsync, _number);

    private static async Task<int> ForgetAsync(Session session, ParseResult asked)
    {
        using var waiting = await Waiting.OpenAsync(session.Around, session.Stop).ConfigureAwait(false);
        var number = asked.GetValue(_number);
        var movement = waiting.Movements.FirstOrDefault(m => m.Number == number)
            ?? throw NotDoneException.Usage($"Nothing waits under {number}. See: cash waiting");
        waiting.Remove(movement);
        session.Around.Out.WriteLine($"Dropped, and not sent: {movement.Movement.Said}.");
        return ExitCode.Done;
    }
}
