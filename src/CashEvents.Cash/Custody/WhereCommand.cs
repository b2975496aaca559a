using System.CommandLine;

namespace CashEvents.Cash.Custody;

/// <summary>Where the cash lies, and who carries some of it.</summary>
internal static class WhereCommand
{
    public static Command Make(Commands commands) => commands.Of("where",
        "Show where the cash lies, and who carries some of it.", (session, _) => session.ShowAsync(
            session.Client.Api.Custody.ToGetRequestInformation(), CustodyAnswer.CreateFromDiscriminatorValue,
            answer => [Of(answer)], serverHasCsv: false));

    private static Sheet Of(CustodyAnswer answer) => new(
        ["where", "what", "cash", "since"],
        answer.Places!.SelectMany(place => place.Wallets!.Select(IReadOnlyList<object?> (wallet) =>
            [place.Label ?? "no place named", wallet.Label, wallet.Cash, wallet.Since]))
            .Concat(answer.Carried!.Select(IReadOnlyList<object?> (carried) =>
                [$"with {carried.Carrier}", carried.Label, carried.Amount, carried.Since])))
    {
        Notes = [.. (answer.Cautions ?? []).Select(caution => caution.Detail)],
    };
}
