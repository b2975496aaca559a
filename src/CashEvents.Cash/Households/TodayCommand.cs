using System.CommandLine;

namespace CashEvents.Cash.Households;

/// <summary>The household's day.</summary>
internal static class TodayCommand
{
    public static Command Make(Commands commands) => commands.Of("today",
        "Show the household's date, week and month, and what is to be done next.", (session, _) => session.ShowAsync(
            session.Client.Api.Today.ToGetRequestInformation(), TodayAnswer.CreateFromDiscriminatorValue,
            answer => [Of(session, answer)], serverHasCsv: false));

    private static Sheet Of(Session session, TodayAnswer answer) => new(
        ["date", "week", "month", "next payday", "last line"],
        [[answer.Date, answer.Week, answer.Month, answer.NextPayday, answer.BookLine]])
    {
        Notes =
        [
            Waiting.IsEmpty(session.Around) ? null : $"Movements wait to be sent. See: {Commands.Name} waiting",
        ],
    };
}
