using Microsoft.Kiota.Abstractions.Serialization;

namespace CashEvents.Cash.Writing;

/// <summary>Says what a movement wrote.</summary>
internal static class SentWords
{
    /// <summary>Says it: to people in words, to programs as the server's answer.</summary>
    public static async Task SayAsync(Session session, string answer)
    {
        var written = await KiotaJsonSerializer.DeserializeAsync(answer, MovementAnswer.CreateFromDiscriminatorValue)
            .ConfigureAwait(false);
        session.Say(Words(session, written!), answer);
    }

    /// <summary>Says what became of movements that waited.</summary>
    public static void TellOthers(Session session, IEnumerable<Sent> others)
    {
        foreach (var (movement, _, problem) in others)
        {
            session.Remark(problem is null
                ? $"Sent what waited: {movement.Movement.Said}."
                : $"Refused, and kept as {movement.Number}: {movement.Movement.Said}. {problem.Detail}");
        }
    }

    /// <summary>How many wait.</summary>
    public static string HowMany(int movements) => movements == 1 ? "1 waits" : $"{movements} wait";

    private static string Words(Session session, MovementAnswer written)
    {
        var says = new List<string> { Lines(written.Lines) };
        if (written.CountId is { } count)
        {
            says.Add(Count(session, written, count));
        }

        says.AddRange(written.Balances!.Select(b =>
            $"{b.Compartment} has {session.Figures.Write(b.Balance!.Value)} in {(b.Holding == Holding.Bank
                ? "the bank" : "cash")}."));
        if (written.Note is { } note)
        {
            says.Add(note);
        }

        return string.Join(' ', says);
    }

    private static string Lines(List<long?>? lines) => lines switch
    {
        null or [] => "Nothing was to be written.",
        [var line] => $"Line {line}.",
        _ => $"Lines {string.Join(", ", lines)}.",
    };

    private static string Count(Session session, MovementAnswer written, long count)
    {
        var write = session.Figures.Write;
        var (counted, expected, difference) = (written.Counted!.Value, written.Expected!.Value,
            written.Difference!.Value);
        return difference == 0
            ? $"{write(counted)} counted, as expected."
            : $"{write(counted)} counted, {write(expected)} expected: {write(Math.Abs(difference))} "
                + $"{(difference > 0 ? "over" : "short")}. What probably happened: {Commands.Name} explain {count}.";
    }
}
