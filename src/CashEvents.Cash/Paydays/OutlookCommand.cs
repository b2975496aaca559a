using System.CommandLine;

namespace CashEvents.Cash.Paydays;

/// <summary>What is to come, payday by payday.</summary>
internal static class OutlookCommand
{
    public static Command Make(Commands commands)
    {
        var months = new Option<int?>("--months") { Description = "How far, 1 to 60.", HelpName = "number" };
        return commands.Of("outlook", "Look ahead: each payday, and the first day on which something is short.",
            (session, asked) => session.ShowAsync(session.Client.Api.Outlook.ToGetRequestInformation(request =>
                request.QueryParameters.Months = asked.GetValue(months)), OutlookAnswer.CreateFromDiscriminatorValue,
                answer => [Of(answer)]), months);
    }

    private static Sheet Of(OutlookAnswer answer) => new(
        ["payday", "pay", "bills", "cash", "bank", "stays in bank"],
        answer.Stretches!.Select(stretch => stretch.Payday).OfType<OutlookPaydayAnswer>()
            .Select(IReadOnlyList<object?> (p) => [p.Payday, p.Pay, p.FixedBills, p.Cash, p.Bank, p.StaysInBank]))
    {
        Heading = $"{answer.From} to {answer.To}",
        Notes =
        [
            .. answer.Shortages!.Select(shortage => shortage.Detail),
            answer.Shortages!.Count == 0 ? "Nothing will be short." : null,
            answer.Note,
        ],
    };
}
