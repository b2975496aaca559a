using System.CommandLine;

namespace CashEvents.Cash.Plans;

/// <summary>The next bills, and whether enough is put aside.</summary>
internal static class BillsCommand
{
    public static Command Make(Commands commands) => commands.Of("bills",
        "Show the next bills of the sinking funds, and whether enough is put aside.",
        (session, _) => session.ShowAsync(session.Client.Api.SinkingFunds.ToGetRequestInformation(),
            SinkingFundsAnswer.CreateFromDiscriminatorValue, answer => [Of(session, answer)], serverHasCsv: false));

    private static Sheet Of(Session session, SinkingFundsAnswer answer) => new(
        ["due", "bill", "compartment", "amount", "there", "paydays"],
        answer.SinkingFunds!.SelectMany(fund => fund.NextBills!.Select(bill => (Fund: fund, Bill: bill)))
            .OrderBy(next => $"{next.Bill.Due}", StringComparer.Ordinal)
            .Select(IReadOnlyList<object?> (next) => [next.Bill.Due, next.Bill.Label, next.Fund.Compartment,
                next.Bill.Amount, next.Fund.There, next.Bill.Paydays]))
    {
        Notes =
        [
            answer.Note,
            .. answer.SinkingFunds!.Where(fund => fund.OnTrack == false).Select(fund =>
                $"{fund.Compartment} is {session.Figures.Write(fund.Behind!.Value)} behind. To mend it put in "
                    + $"{session.Figures.Write(fund.Mend!.Now!.Value)} now, or "
                    + $"{session.Figures.Write(fund.Mend.OrEachPayday!.Value)} on each payday."),
        ],
    };
}
