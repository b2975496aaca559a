using System.CommandLine;

namespace CashEvents.Cash.Months;

/// <summary>A month from opening to closing.</summary>
internal static class MonthCommand
{
    /// <summary>The month that is asked for.</summary>
    public static Argument<string> Month() => new("month")
    {
        Description = "Such as 2026-10; the household's present month if left out.",
        DefaultValueFactory = _ => "current",
    };

    public static Command Make(Commands commands)
    {
        var month = Month();
        return commands.Of("month", "Show a month: what each compartment had, got, spent and has left.",
            (session, asked) => session.ShowAsync(
                session.Client.Api.Months[asked.GetValue(month)!].Trail.ToGetRequestInformation(),
                TrailAnswer.CreateFromDiscriminatorValue, answer => [Of(answer)]), month);
    }

    private static Sheet Of(TrailAnswer answer) => new(
        ["compartment", "opening", "filled", "spent", "moved", "other", "closing"],
        answer.Compartments!.Select(c => Row(c.Compartment!, c.Figures!)).Append(Row("all", answer.Household!)))
    {
        Heading = $"{answer.Month}, {(answer.Closed is null ? "open" : $"closed by {answer.Closed.By}")}",
        Notes =
        [
            answer.Open is { Count: > 0 } open ? "Before it is closed, count or settle: "
                + $"{string.Join(", ", open.Select(item => item.Compartment ?? "the bank").Distinct())}." : null,
        ],
    };

    // Spent less what came back; moved in less out; over, short and late corrections are the others.
    private static IReadOnlyList<object?> Row(string name, FiguresAnswer f) =>
    [
        name, f.Opening, f.Filled, f.Spent - f.Refunded, f.MovedIn + f.SweptIn - f.MovedOut - f.SweptOut,
        f.Over - f.Short + f.Corrected, f.Closing,
    ];
}
