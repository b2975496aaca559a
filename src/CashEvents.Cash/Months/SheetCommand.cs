using System.CommandLine;

namespace CashEvents.Cash.Months;

/// <summary>A compartment's sheet of a month.</summary>
internal static class SheetCommand
{
    public static Command Make(Commands commands)
    {
        var compartment = commands.Names.Compartment("compartment", "Whose sheet.");
        var month = MonthCommand.Month();
        return commands.Of("sheet", "Show a compartment's sheet: date, description, amount, balance.",
            (session, asked) => session.ShowAsync(
                session.Client.Api.Compartments[asked.GetValue(compartment)!].Tracker.ToGetRequestInformation(request =>
                    request.QueryParameters.Month = asked.GetValue(month) is "current" ? null : asked.GetValue(month)),
                TrackerAnswer.CreateFromDiscriminatorValue, answer => [Of(session, answer)]), compartment, month);
    }

    private static Sheet Of(Session session, TrackerAnswer answer) => new(
        ["date", "description", "amount", "balance", "", "line"],
        answer.Rows!.Select(IReadOnlyList<object?> (r) =>
            [r.Date, r.Description is { Length: > 0 } words ? words : r.Kind, r.Amount, r.Balance, r.Holding, r.Line]))
    {
        Heading = $"{answer.Label}, {answer.Month}: {session.Figures.Write(answer.OpeningBalance!.Value)} before",
        Notes = [$"{session.Figures.Write(answer.ClosingBalance!.Value)} at the end"],
    };
}
