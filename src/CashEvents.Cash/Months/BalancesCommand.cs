using System.CommandLine;

namespace CashEvents.Cash.Months;

/// <summary>What there is and where it lies.</summary>
internal static class BalancesCommand
{
    public static Command Make(Commands commands)
    {
        var on = Days.Option();
        on.Description = "As it was at the end of this day.";
        return commands.Of("balances", "Show what there is, in cash and in the bank.", async (session, asked) =>
        {
            var day = asked.GetValue(on) is null ? null
                : (Microsoft.Kiota.Abstractions.Date?)(await Days.OfAsync(session, asked.GetValue(on))
                    .ConfigureAwait(false)).Day;
            await session.ShowAsync(
                session.Client.Api.Balances.ToGetRequestInformation(request => request.QueryParameters.On = day),
                BalancesAnswer.CreateFromDiscriminatorValue, answer => [Of(session, answer)], serverHasCsv: false)
                .ConfigureAwait(false);
        }, on);
    }

    private static Sheet Of(Session session, BalancesAnswer answer) => new(
        ["compartment", "wallet", "cash", "bank", "total"],
        answer.Compartments!.Select(IReadOnlyList<object?> (c) => [c.Compartment, c.Wallet, c.Cash, c.Bank, c.Total]))
    {
        Heading = $"{answer.Household!.Name}{(answer.Currency is { } currency ? $", in {currency}" : "")}",
        Notes =
        [
            .. answer.Wallets!.Select(w => In(session, w.Wallet!, w.Cash, w.Bank)),
            In(session, "all", answer.Household.Cash, answer.Household.Bank),
        ],
    };

    private static string In(Session session, string what, decimal? cash, decimal? bank) =>
        $"{what}: {session.Figures.Write(cash!.Value)} in cash, {session.Figures.Write(bank!.Value)} in the bank";
}
