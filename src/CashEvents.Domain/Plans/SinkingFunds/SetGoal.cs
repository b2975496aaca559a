using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Plans;

/// <summary>Sets a new goal of a sinking fund.</summary>
/// <param name="Compartment">The fund.</param>
/// <param name="Label">What it is called; its id is made from this.</param>
/// <param name="Amount">Of each bill, in major units as written.</param>
/// <param name="Due">The first due date, today or later, thirty years ahead at most.</param>
/// <param name="Every">The period from one due date to the next as an ISO 8601 duration; null when it comes
/// once.</param>
/// <param name="Amounts">Other amounts by due date, each of that bill alone.</param>
public sealed record AddGoal(string Compartment, string Label, decimal Amount, DateOnly Due, string? Every,
    IReadOnlyDictionary<DateOnly, decimal>? Amounts) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var fund = SinkingFund.Named(book, Compartment, "compartment");
        var label = Words.Name(Label, "label");
        var id = Book.NewId(label, book.Goals.ContainsKey, "goal");
        var every = Every is null ? null : Period.Read(Every, "every").ToString();
        var goal = new Goal(id, fund.Id, label, book.Amount(Amount), GoalRules.Due(Due, today), every,
            ImmutableSortedDictionary<DateOnly, Money>.Empty, today, 0);
        GoalRules.MustBeFew(book, goal, today);
        return [GoalRules.Set(goal with { Amounts = GoalRules.Amounts(book, goal, Amounts) })];
    }
}

/// <summary>
/// Changes a goal; what is left out stays. With another due date or period its bills are counted anew from that date.
/// </summary>
/// <param name="Goal">Its id.</param>
/// <param name="Label">Another label; the id stays.</param>
/// <param name="Amount">Another amount of each bill.</param>
/// <param name="Due">Another due date of the next bill, today or later.</param>
/// <param name="Every">Another period.</param>
/// <param name="Amounts">Other amounts by due date, in the stead of those written before.</param>
public sealed record ChangeGoal(string Goal, string? Label, decimal? Amount, DateOnly? Due, string? Every,
    IReadOnlyDictionary<DateOnly, decimal>? Amounts) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var goal = book.GoalNamed(Goal);
        SinkingFund.Named(book, goal.Compartment, "compartment");
        var every = Every is null ? goal.Every : Period.Read(Every, "every").ToString();
        var next = goal.OpenBills().FirstOrDefault();
        var due = Due is { } written && written != next?.Due ? GoalRules.Due(written, today)
            : every != goal.Every ? next?.Due ?? throw GoalRules.NothingOpen(goal)
            : goal.Due;
        var counted = due == goal.Due && every == goal.Every;
        var changed = goal with
        {
            Label = Label is null ? goal.Label : Words.Name(Label, "label"),
            Amount = Amount is { } amount ? book.Amount(amount) : goal.Amount,
            Due = due,
            Every = every,
            Since = counted ? goal.Since : next?.Since ?? today,
        };
        changed = changed with
        {
            Amounts = Amounts is not null ? GoalRules.Amounts(book, changed, Amounts)
                : counted ? goal.Amounts
                : goal.Amounts.Where(a => changed.IsDue(a.Key)).ToImmutableSortedDictionary(),
        };
        if (!counted)
        {
            GoalRules.MustBeFew(book, changed, today);
        }

        return Says(goal) == Says(changed) && goal.Amounts.SequenceEqual(changed.Amounts)
            ? []
            : [GoalRules.Set(changed)];
    }

    private static (string, Money, DateOnly, string?) Says(Goal goal) =>
        (goal.Label, goal.Amount, goal.Due, goal.Every);
}

/// <summary>Gives a goal up; what was saved for it stays in the fund.</summary>
/// <param name="Goal">Its id.</param>
public sealed record RemoveGoal(string Goal) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var goal = book.GoalNamed(Goal);
        return [new GoalRemoved(goal.Id, goal.Compartment)];
    }
}

internal static class GoalRules
{
    private const int MostYearsAhead = 30;
    private const int MostAmounts = 500;

    // Each of them is looked at whenever the household looks ahead.
    private const int MostGoals = 500;
    private const int MostBills = 20_000;

    /// <summary>Refuses a goal that is one too many, or whose bills are, with those of the others.</summary>
    public static void MustBeFew(Book book, Goal goal, DateOnly today)
    {
        var others = book.Goals.Values.Where(other => other.Id != goal.Id).ToList();
        if (others.Count >= MostGoals)
        {
            throw Refusal.Conflict("too-many",
                $"A household has at most {MostGoals} goals: remove one that is no longer saved for.");
        }

        var horizon = today.AddYears(SinkingFund.YearsAhead);
        if (others.Append(goal).Sum(each => each.OpenBills(savedForBy: horizon).Count()) > MostBills)
        {
            throw Refusal.Conflict("too-many",
                $"The goals of a household come to at most {MostBills} bills in {SinkingFund.YearsAhead} years: let "
                    + $"this one come less often, or plan what is paid so often as weekly spending.", "every");
        }
    }

    public static GoalSet Set(Goal goal) =>
        new(goal.Id, goal.Compartment, goal.Label, goal.Amount, goal.Due, goal.Every, goal.Amounts, goal.Since);

    /// <summary>The bill that a spend from a fund pays: the next one that is open.</summary>
    public static PaidBill NextBill(Book book, string written, string compartment, DateOnly today)
    {
        if (!book.Goals.TryGetValue(written, out var goal))
        {
            var near = NearNames.Of(written, book.Goals.Keys);
            throw Refusal.Unfit("goal", "goal-unknown",
                $"There is no goal '{written}'. "
                    + $"{(near.Count > 0 ? $"Did you mean '{near[0]}'?" : $"{Act.ListGoals.Way()} lists them.")}",
                    near);
        }

        if (goal.Compartment != compartment)
        {
            throw Refusal.Unfit("goal", "goal-of-another-fund",
                $"'{goal.Id}' is saved for in '{goal.Compartment}': spend from there, and send `restFrom` if another "
                    + $"compartment is to give what is missing.");
        }

        var bill = goal.OpenBills().FirstOrDefault()
            ?? throw Refusal.Conflict("goal-paid",
                $"'{goal.Id}' is paid, and no other bill of it is to come: leave `goal` out.", "goal");
        return bill.Due <= today.AddYears(SinkingFund.YearsAhead) ? new PaidBill(goal.Id, bill.Due)
            : throw Refusal.Conflict("goal-paid",
                $"'{goal.Id}' is paid for the next {SinkingFund.YearsAhead} years; its next bill is due on "
                    + $"{bill.Due:O}: leave `goal` out.", "goal");
    }

    public static RefusalException NothingOpen(Goal goal) =>
        Refusal.Unfit("every", "goal-paid",
            $"'{goal.Id}' is paid, and no bill is left that could come again: send `due` too.");

    public static DateOnly Due(DateOnly written, DateOnly today) => written < today
        ? throw Refusal.Unfit("due", "due-before-today",
            $"{written:O} is before the household's today, {today:O}: write the next due date.")
        : written <= today.AddYears(MostYearsAhead) ? written
        : throw Refusal.Unfit("due", "due-too-late",
            $"{written:O} is more than {MostYearsAhead} years ahead: write an earlier due date.");

    public static ImmutableSortedDictionary<DateOnly, Money> Amounts(Book book, Goal goal,
        IReadOnlyDictionary<DateOnly, decimal>? written)
    {
        if (written?.Count > MostAmounts)
        {
            throw Refusal.Unfit("amounts", "too-many-amounts", $"`amounts` names at most {MostAmounts} due dates.");
        }

        var amounts = ImmutableSortedDictionary.CreateBuilder<DateOnly, Money>();
        foreach (var (day, amount) in written ?? ImmutableDictionary<DateOnly, decimal>.Empty)
        {
            var field = string.Create(CultureInfo.InvariantCulture, $"amounts.{day:yyyy-MM-dd}");
            if (day > goal.Due.AddYears(MostYearsAhead) || !goal.IsDue(day))
            {
                throw Refusal.Unfit(field, "not-due",
                    $"No bill of '{goal.Id}' is due on {day:O}: it is due on "
                        + $"{goal.Due:O}{(goal.Every is null ? " only" : $" and then every {goal.Every}")}.");
            }

            amounts.Add(day, book.Amount(amount, field));
        }

        return amounts.ToImmutable();
    }
}
