using System.Text.Json;
using Microsoft.Kiota.Abstractions.Serialization;

namespace CashEvents.Cash.Writing;

/// <summary>
/// Records a movement. It is on this machine's disk before it is sent, so that neither a kill nor a server that is away
/// loses it. What waited before it goes first.
/// </summary>
internal static class Recording
{
    /// <summary>Records it and says what was written, or that it waits.</summary>
    /// <param name="session">The command.</param>
    /// <param name="said">The command in words, for the list of what waits.</param>
    /// <param name="path">Where it is sent.</param>
    /// <param name="on">The day that was typed; null for the household's today.</param>
    /// <param name="namesOf">Compartments that it names.</param>
    /// <param name="request">The request, by its day.</param>
    public static async Task<int> RecordAsync(Session session, string said, string path, string? on,
        IEnumerable<string?> namesOf, Func<Microsoft.Kiota.Abstractions.Date, IParsable> request)
    {
        var names = namesOf.OfType<string>().ToList();
        _ = session.Client;
        using var waiting = await Waiting.OpenAsync(session.Around, session.Stop).ConfigureAwait(false);
        var (day, away) = await Days.OfAsync(session, on).ConfigureAwait(false);
        var body = await KiotaJsonSerializer.SerializeAsStringAsync(request(day),
            serializeOnlyChangedValues: false, cancellationToken: session.Stop).ConfigureAwait(false);
        var mine = waiting.Add(new Movement(path, JsonElement.Parse(body), said), Guid.NewGuid().ToString(),
            session.Around.Clock.GetUtcNow(), session.Connection);
        if (away is not null)
        {
            return Waits(session, mine, waiting, names, away);
        }

        var (sent, stopped) = await Sending.SendAsync(session, waiting).ConfigureAwait(false);
        SentWords.TellOthers(session, sent.Where(other => other.Movement.Number != mine.Number));
        if (sent.FirstOrDefault(one => one.Movement.Number == mine.Number) is { } written)
        {
            return await TellAsync(session, waiting, written).ConfigureAwait(false);
        }

        if (stopped is CashEventsProblemException aboutTheKey && !Sending.IsNoAnswer(aboutTheKey))
        {
            waiting.Remove(mine);
            return Refusals.Tell(session, aboutTheKey);
        }

        return Waits(session, mine, waiting, names, stopped!);
    }

    private static async Task<int> TellAsync(Session session, Waiting waiting, Sent written)
    {
        if (written.Problem is { } problem)
        {
            waiting.Remove(written.Movement);
            return Refusals.Tell(session, problem);
        }

        await SentWords.SayAsync(session, written.Answer!).ConfigureAwait(false);
        if (KnownHousehold.Remembered(session.Around, session.Connection) is null)
        {
            await KnownHousehold.AskAsync(session.Around, session.Connection, session.Client, session.Stop)
                .ConfigureAwait(false);
        }

        return ExitCode.Done;
    }

    private static int Waits(Session session, WaitingMovement mine, Waiting waiting, IReadOnlyList<string> names,
        Exception why)
    {
        session.Remark(Refusals.Unreachable(session, why));
        if (Unknown(session, names) is { } unknown)
        {
            waiting.Remove(mine);
            throw NotDoneException.Usage(unknown);
        }

        var howMany = waiting.Movements.Count(movement => movement.Refused is null);
        session.Remark($"Kept as {mine.Number}: {mine.Movement.Said}. {SentWords.HowMany(howMany)} now. "
            + $"{Commands.Name} send sends what waits.");
        return ExitCode.Waits;
    }

    // The server can't say it, so what was last heard of the household does.
    private static string? Unknown(Session session, IReadOnlyList<string> names)
    {
        var known = KnownHousehold.Remembered(session.Around, session.Connection)?.Compartments.Select(c => c.Id)
            .ToList();
        if (known is null || names.FirstOrDefault(name => !known.Contains(name)) is not { } unknown)
        {
            return null;
        }

        var near = Nearest.Of(unknown, known);
        return $"There is no compartment '{unknown}' among those last heard of"
            + (near.Count == 0 ? "." : $". Did you mean {string.Join(" or ", near.Select(name => $"'{name}'"))}?")
            + " Nothing was kept.";
    }
}
