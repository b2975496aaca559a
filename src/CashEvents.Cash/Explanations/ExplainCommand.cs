using System.CommandLine;

namespace CashEvents.Cash.Explanations;

/// <summary>What probably happened behind a count that disagrees.</summary>
internal static class ExplainCommand
{
    // Less than one in a hundred is nothing to look into.
    private const decimal WorthALook = 0.01m;

    public static Command Make(Commands commands)
    {
        var count = new Argument<long>("count") { Description = "The count's number." };
        return commands.Of("explain", "List what probably happened behind a count that disagrees.",
            (session, asked) => session.ShowAsync(
                session.Client.Api.Counts[asked.GetValue(count)].Explanations.ToGetRequestInformation(),
                ExplanationsAnswer.CreateFromDiscriminatorValue,
                answer => [session.Form == OutputForm.Csv ? InRows(answer) : InWords(session, answer)],
                serverHasCsv: false),
            count);
    }

    private static Sheet InRows(ExplanationsAnswer answer) => new(
        ["likelihood", "code", "what happened", "why", "look"],
        answer.Explanations!.Select(IReadOnlyList<object?> (e) =>
            [e.Likelihood, e.Explanation, Says(e), e.Why, e.Look]));

    private static Sheet InWords(Session session, ExplanationsAnswer answer) => Sheet.Words(
    [
        $"{answer.Compartment}, {answer.OccurredOn}: {session.Figures.Write(answer.Counted!.Value)} counted, "
            + $"{session.Figures.Write(answer.Expected!.Value)} expected.",
        .. answer.Explanations!.Where((e, i) => i == 0 || e.Likelihood >= WorthALook)
            .SelectMany((e, i) => One(e, i + 1, answer.CountId!.Value)),
        answer.Explanations!.Count == 0 ? null : "",
        answer.Explanations.Count == 0 ? null : Otherwise(answer.SomethingElse!.Value),
        answer.NextCount?.Says,
        answer.Note,
    ]);

    private static IEnumerable<string> One(ExplanationAnswer explanation, int number, long count)
    {
        var mayBe = explanation.Mistakes!.SelectMany(m => m.MayBe ?? []).Select(m => m.Line).Distinct().ToList();
        yield return "";
        yield return $"{number}. {Chance(explanation.Likelihood!.Value)}: {Says(explanation)}";
        yield return $"   {explanation.Why}";
        yield return $"   {explanation.Look}";
        foreach (var line in mayBe)
        {
            yield return $"   If it is line {line}: {Commands.Name} settle {count} --same-as {line}";
        }

        var unless = mayBe.Count == 0 ? "To put it right" : mayBe.Count == 1 ? "If it is not" : "If it is none";
        yield return $"   {unless}: {Commands.Name} settle {count} --by {explanation.Explanation}";
    }

    private static string Says(ExplanationAnswer explanation) =>
        string.Join(" ", explanation.Mistakes!.Select(m => m.Says));

    // So many of ten are easier to weigh than a share.
    private static string Chance(decimal chance) => chance switch
    {
        >= 0.95m => "Nearly sure",
        < 0.05m => "Unlikely",
        _ => $"About {Math.Round(chance * 10, MidpointRounding.AwayFromZero):F0} in 10",
    };

    private static string Otherwise(decimal chance) => chance < 0.05m
        ? "Hardly anything else."
        : $"{Chance(chance)}: something else, such as money lost or found.";
}
