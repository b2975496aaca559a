using System.CommandLine;

namespace CashEvents.Cash.Plans;

/// <summary>A week beside its plan.</summary>
internal static class WeekCommand
{
    public static Command Make(Commands commands)
    {
        var week = new Argument<string>("week")
        {
            Description = "Such as 2026-W46; the household's present week if left out.",
            DefaultValueFactory = _ => "current",
        };
        return commands.Of("week", "Show a week beside its plan.", (session, asked) => session.ShowAsync(
            session.Client.Api.Weeks[asked.GetValue(week)!].ToGetRequestInformation(),
            WeekAnswer.CreateFromDiscriminatorValue, answer => [Of(answer)]), week);
    }

    private static Sheet Of(WeekAnswer answer) => new(
        ["compartment", "planned", "spent", "variance", "left"],
        answer.Compartments!.Select(IReadOnlyList<object?> (c) =>
            [c.Compartment, c.Planned, c.Spent, c.Variance, c.Left])
            .Append(["all", answer.Totals!.Planned, answer.Totals.Spent, answer.Totals.Variance, answer.Totals.Left]))
    {
        Heading = $"{answer.Week}, {answer.FirstDay} to {answer.LastDay}",
        Notes = [answer.Pace is { } pace ? $"{pace.DaysGone} of {pace.Days} days are gone." : null],
    };
}
