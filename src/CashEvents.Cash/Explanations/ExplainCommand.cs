using System.CommandLine;

namespace CashEvents.Cash.Explanations;

/// <summary>What probably happened behind a count that disagrees.</summary>
internal static class ExplainCommand
{
    public static Command Make(Commands commands)
    {
        var count = new Argument<long>("count") { Description = "The count's number." };
        return commands.Of("explain", "List what probably happened behind a count that disagrees.",
            (session, asked) => session.ShowAsync(
                session.Client.Api.Counts[asked.GetValue(count)].Explanations.ToGetRequestInformation(),
                ExplanationsAnswer.CreateFromDiscriminatorValue, answer => [Of(session, answer)], serverHasCsv: false),
            count);
    }

    private static Sheet Of(Session session, ExplanationsAnswer answer) => new(
        ["likelihood", "code", "what happened"],
        answer.Explanations!.Select(IReadOnlyList<object?> (e) =>
            [e.Likelihood, e.Explanation, string.Join(" ", e.Mistakes!.Select(m => m.Says))]))
    {
        Heading = $"{answer.Compartment}, {answer.OccurredOn}: {session.Figures.Write(answer.Counted!.Value)} counted, "
            + $"{session.Figures.Write(answer.Expected!.Value)} expected.",
        Notes =
        [
            answer.Note,
            answer.Explanations!.Count == 0 ? null
                : $"{session.Figures.Write(answer.SomethingElse!.Value)} is the likelihood of something else. To "
                    + $"put it right: {Commands.Name} settle {answer.CountId} --by CODE",
        ],
    };
}
