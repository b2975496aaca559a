using System.CommandLine;
using Microsoft.Kiota.Abstractions;

namespace CashEvents.Cash.Paydays;

/// <summary>Shares a payday's pay out by the rules.</summary>
internal static class PaydayCommand
{
    /// <summary>The payday that is asked for.</summary>
    public static Argument<string?> Payday() => new("payday")
    {
        Description = "Such as 2026-12-01; the one that is to be filled next if left out.",
        Arity = ArgumentArity.ZeroOrOne,
    };

    /// <summary>The day, or else the payday that is to be filled next.</summary>
    /// <exception cref="NotDoneException">None is known.</exception>
    public static async Task<Date> DayAsync(Session session, string? typed) => typed is not null
        ? Days.Read(typed)
        : (await session.Client.Api.Today.GetAsync(cancellationToken: session.Stop).ConfigureAwait(false))!.NextPayday
            ?? throw NotDoneException.Usage("No payday is known to come. Say which day: cash payday 2026-12-01.");

    public static Command Make(Commands commands)
    {
        var payday = Payday();
        var pay = Movements.MovementSymbols.AmountOption("--pay", "What was paid, if it is not what is known.");
        var dryRun = new Option<bool>("--dry-run") { Description = "Show it and write nothing." };
        var on = Days.Option();
        on.Description = "The day on which the cash is drawn and filled; the payday if left out.";
        return commands.Of("payday", "Share a payday's pay out by the rules.", async (session, asked) =>
        {
            var request = session.Client.Api.FillRuns.ToPostRequestInformation(new FillRunRequest
            {
                Payday = await DayAsync(session, asked.GetValue(payday)).ConfigureAwait(false),
                Pay = asked.GetValue(pay),
                DryRun = asked.GetValue(dryRun) ? true : null,
                OccurredOn = asked.GetValue(on) is { } day
                    ? (await Days.OfAsync(session, day).ConfigureAwait(false)).Day : null,
            });
            await session.ShowAsync(request, FillRunAnswer.CreateFromDiscriminatorValue,
                answer => [Of(session, answer)]).ConfigureAwait(false);
        }, payday, pay, dryRun, on);
    }

    private static Sheet Of(Session session, FillRunAnswer answer) => new(
        ["compartment", "wanted", "amount", "cash", "bank"],
        answer.Compartments!.Select(IReadOnlyList<object?> (c) => [c.Compartment, c.Wanted, c.Amount, c.Cash, c.Bank])
            .Append(["all", null, answer.Sums!.Fills, answer.Sums.Cash, answer.Sums.Bank]))
    {
        Heading = $"{answer.Payday}: {session.Figures.Write(answer.Sums!.Pay!.Value)} paid, "
            + $"{session.Figures.Write(answer.Sums.ToShare!.Value)} to share",
        Notes =
        [
            answer.Note,
            answer.DryRun == true ? "Nothing was written."
                : $"Line {string.Join(", ", answer.Lines ?? [])}. Which notes to ask for: {Commands.Name} slip "
                    + $"{answer.Payday}",
        ],
    };
}
