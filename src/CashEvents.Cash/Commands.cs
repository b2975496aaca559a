using System.CommandLine;
using System.CommandLine.Help;

namespace CashEvents.Cash;

/// <summary>All commands, in the order in which a household meets them.</summary>
internal sealed class Commands
{
    /// <summary>What the program is called.</summary>
    public const string Name = "cash";

    private readonly Surroundings _around;

    private readonly Option<bool> _json = new("--json")
    {
        Description = "Answer as the server does, for programs.",
        Recursive = true,
    };

    private readonly Option<bool> _csv = new("--csv")
    {
        Description = "Answer as CSV (RFC 4180), for spreadsheets.",
        Recursive = true,
    };

    public Commands(Surroundings around)
    {
        _around = around;
        Names = new Completions(around);
        Root = new RootCommand("A household's cash book from the command line.")
        {
            Options = { _json, _csv },
        };
        var help = Root.Options.OfType<HelpOption>().Single();
        foreach (var alias in help.Aliases.Where(alias => alias.StartsWith('/')).ToList())
            help.Aliases.Remove(alias);
        foreach (var command in All())
            Root.Subcommands.Add(command);
    }

    /// <summary>The whole tree.</summary>
    public RootCommand Root { get; }

    /// <summary>Offers names of compartments and wallets while they are typed.</summary>
    public Completions Names { get; }

    /// <summary>A command that does something and says it.</summary>
    public Command Of(string name, string description, Func<Session, ParseResult, Task<int>> run,
        params IEnumerable<Symbol> symbols)
    {
        var command = new Command(name, description);
        foreach (var symbol in symbols)
        {
            if (symbol is Argument argument)
                command.Arguments.Add(argument);
            else
                command.Options.Add((Option)symbol);
        }

        command.SetAction((asked, stop) => CarryOutAsync(run, asked, stop));
        return command;
    }

    /// <summary>A command that shows something.</summary>
    public Command Of(string name, string description, Func<Session, ParseResult, Task> show,
        params IEnumerable<Symbol> symbols) => Of(name, description, async (session, asked) =>
        {
            await show(session, asked).ConfigureAwait(false);
            return ExitCode.Done;
        }, symbols);

    private IEnumerable<Command> All() =>
    [
        Movements.SpendCommand.Make(this), Movements.RefundCommand.Make(this), Movements.FillCommand.Make(this),
        Movements.TransferCommand.Make(this), Movements.SweepCommand.Make(this), Movements.UndoCommand.Make(this),
        Movements.AmendCommand.Make(this),
        Counts.CountCommand.Make(this), Explanations.ExplainCommand.Make(this), Counts.SettleCommand.Make(this),
        Months.BalancesCommand.Make(this), Plans.WeekCommand.Make(this), Months.MonthCommand.Make(this),
        Months.SheetCommand.Make(this), Books.LinesCommand.Make(this), Custody.WhereCommand.Make(this),
        Households.TodayCommand.Make(this),
        Paydays.PaydayCommand.Make(this), Paydays.SlipCommand.Make(this), Plans.BillsCommand.Make(this),
        Paydays.OutlookCommand.Make(this),
        PrintCommand.Make(this), Books.WatchCommand.Make(this),
        WaitingCommand.Make(this), SendCommand.Make(this), ForgetCommand.Make(this),
        ConnectCommand.Make(this), CompletionCommand.Make(this),
    ];

    private async Task<int> CarryOutAsync(Func<Session, ParseResult, Task<int>> run, ParseResult asked,
        CancellationToken stop)
    {
        var form = asked.GetValue(_json) ? OutputForm.Json : asked.GetValue(_csv) ? OutputForm.Csv : OutputForm.Table;
        using var session = new Session(_around, form, stop);
        try
        {
            return await run(session, asked).ConfigureAwait(false);
        }
        catch (NotDoneException notDone)
        {
            session.Remark(notDone.Message);
            return notDone.ExitCode;
        }
        catch (CashEventsProblemException problem)
        {
            return Refusals.Tell(session, problem);
        }
        catch (Exception fault) when (Refusals.IsKnown(fault))
        {
            return Refusals.Tell(session, fault);
        }
    }
}
