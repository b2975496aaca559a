using System.CommandLine;

namespace CashEvents.Cash.Printing;

/// <summary>Fetches pages to print, as files that a browser opens.</summary>
internal static class PrintCommand
{
    private static readonly Option<string?> _folder = new("--into")
    {
        Description = "The folder in which the pages are put; the present one if left out.",
        HelpName = "folder",
        Recursive = true,
    };

    public static Command Make(Commands commands)
    {
        var print = new Command("print", "Fetch pages to print. A browser opens and prints them.")
        {
            Options = { _folder },
        };
        print.Subcommands.Add(Strips(commands));
        print.Subcommands.Add(Month(commands));
        print.Subcommands.Add(Week(commands));
        print.Subcommands.Add(Slip(commands));
        return print;
    }

    private static Command Strips(Commands commands)
    {
        var of = commands.Names.CompartmentOrWallet("of", "A compartment, or a wallet for all in it.");
        var month = Months.MonthCommand.Month();
        return commands.Of("strips", "Sheets to keep behind the notes.", async (session, asked) =>
        {
            var name = asked.GetValue(of)!;
            var all = (await session.Client.Api.Compartments.GetAsync(cancellationToken: session.Stop)
                .ConfigureAwait(false))!.Compartments!;
            var wanted = all.Where(c => c.Wallet == name && c.Closed == false).Select(c => c.Id!).ToList();
            if (wanted.Count == 0)
                wanted.Add(name);
            var query = asked.GetValue(month) is { } named and not "current"
                ? $"?month={Uri.EscapeDataString(named)}" : "";
            foreach (var compartment in wanted)
            {
                await KeepAsync(session, asked, $"compartments/{Uri.EscapeDataString(compartment)}/tracker{query}",
                    $"strips-{compartment}").ConfigureAwait(false);
            }
        }, of, month);
    }

    private static Command Month(Commands commands)
    {
        var month = Months.MonthCommand.Month();
        return commands.Of("month", "The month's trail, with who moved what.",
            (session, asked) => KeepAsync(session, asked,
                $"months/{Uri.EscapeDataString(asked.GetValue(month)!)}/trail", $"month-{asked.GetValue(month)}"),
            month);
    }

    private static Command Week(Commands commands)
    {
        var week = new Argument<string>("week")
        {
            Description = "Such as 2026-W46; the household's present week if left out.",
            DefaultValueFactory = _ => "current",
        };
        return commands.Of("week", "A week beside its plan.", (session, asked) => KeepAsync(session, asked,
            $"weeks/{Uri.EscapeDataString(asked.GetValue(week)!)}", $"week-{asked.GetValue(week)}"), week);
    }

    private static Command Slip(Commands commands)
    {
        var payday = Paydays.PaydayCommand.Payday();
        return commands.Of("slip", "The notes to ask the bank for.", async (session, asked) =>
        {
            var day = await Paydays.PaydayCommand.DayAsync(session, asked.GetValue(payday)).ConfigureAwait(false);
            await KeepAsync(session, asked, $"fill-runs/{day}/draw-slip", $"slip-{day}").ConfigureAwait(false);
        }, payday);
    }

    private static async Task KeepAsync(Session session, ParseResult asked, string path, string name)
    {
        var page = await session.Client.Http.GetStringAsync(
            new Uri($"/api/print/{path}", UriKind.Relative), session.Stop).ConfigureAwait(false);
        var file = Path.GetFullPath(Path.Combine(asked.GetValue(_folder) ?? ".", $"{name}.html"));
        PrivateFile.Write(file, page);
        session.Around.Out.WriteLine(file);
    }
}
