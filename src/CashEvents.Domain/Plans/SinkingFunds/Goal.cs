using System.Collections.Immutable;

namespace CashEvents.Domain.Plans;

/// <summary>What a sinking fund saves for: a bill that comes once, or again and again.</summary>
/// <param name="Id">Slug of its first label; stays when it is relabelled.</param>
/// <param name="Compartment">The fund.</param>
/// <param name="Label">What it is called.</param>
/// <param name="Amount">Of each bill for which no other amount is written.</param>
/// <param name="Due">The first due date.</param>
/// <param name="Every">The period from one due date to the next; null when it comes once.</param>
/// <param name="Amounts">Other amounts, each of the bill due on that day alone.</param>
/// <param name="Since">The day from which the first bill is saved for.</param>
/// <param name="Line">The line that set it first, which is also its place in lists.</param>
public sealed record Goal(
    string Id, string Compartment, string Label, Money Amount, DateOnly Due, string? Every,
    ImmutableSortedDictionary<DateOnly, Money> Amounts, DateOnly Since, long Line)
{
    /// <summary>How many bills have been paid, from the first on.</summary>
    public int Paid { get; init; }

    /// <summary>Those of them whose payment was undone since, in order.</summary>
    public ImmutableSortedSet<int> Unpaid { get; init; } = [];

    /// <summary>
    /// Bills that are not paid, in order of their due dates; without end where it comes again and again.
    /// </summary>
    public IEnumerable<Bill> OpenBills() =>
        Unpaid.Concat(Enumerable.Range(Paid, Every is null ? Math.Max(0, 1 - Paid) : int.MaxValue - Paid))
            .Select(BillOf);

    /// <summary>Those of them for which saving begins on a day or before it.</summary>
    public IEnumerable<Bill> OpenBills(DateOnly savedForBy) => OpenBills().TakeWhile(bill => bill.Since <= savedForBy);

    /// <summary>Whether a bill is due on a day.</summary>
    public bool IsDue(DateOnly day) => NumberOf(day) is not null;

    /// <summary>The goal after the bill due on a day is paid.</summary>
    internal Goal Pay(DateOnly due) => NumberOf(due) is not { } number ? this
        : number == Paid ? this with { Paid = Paid + 1 }
        : this with { Unpaid = Unpaid.Remove(number) };

    /// <summary>The goal after the payment of the bill due on a day is undone.</summary>
    internal Goal Unpay(DateOnly due)
    {
        if (NumberOf(due) is not { } number || number >= Paid)
        {
            return this;
        }

        var (paid, unpaid) = (Paid, Unpaid.Add(number));
        while (unpaid.Contains(paid - 1))
        {
            unpaid = unpaid.Remove(--paid);
        }

        return this with { Paid = paid, Unpaid = unpaid };
    }

    private Bill BillOf(int number)
    {
        var due = DueOf(number);
        return new Bill(Id, number == 0 ? Since : DueOf(number - 1), due, Amounts.GetValueOrDefault(due, Amount));
    }

    private DateOnly DueOf(int number) => number == 0 ? Due : Period.Of(Every!).After(Due, number);

    private int? NumberOf(DateOnly day)
    {
        var number = 0;
        while (DueOf(number) < day)
        {
            if (Every is null)
            {
                return null;
            }

            number++;
        }

        return DueOf(number) == day ? number : null;
    }
}

/// <summary>Line: a goal is set, or set anew: what it says stands in the stead of what it said before.</summary>
/// <param name="Goal">Its id.</param>
/// <param name="Compartment">The fund.</param>
/// <param name="Label">What it is called.</param>
/// <param name="Amount">Of each bill for which no other amount is written.</param>
/// <param name="Due">The first due date.</param>
/// <param name="Every">The period from one due date to the next as an ISO 8601 duration; null when it comes
/// once.</param>
/// <param name="Amounts">Other amounts, each of the bill due on that day alone.</param>
/// <param name="Since">The day from which the first bill is saved for.</param>
[LineKind("goal")]
public sealed record GoalSet(
    string Goal, string Compartment, string Label, Money Amount, DateOnly Due, string? Every,
    ImmutableSortedDictionary<DateOnly, Money> Amounts, DateOnly Since) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <summary>The goal after this line; bills paid of the same due dates stay paid.</summary>
    private Goal After(Goal? before, long line)
    {
        var goal = new Goal(Goal, Compartment, Label, Amount, Due, Every, Amounts, Since, before?.Line ?? line);
        return before is not null && before.Due == Due && before.Every == Every
            ? goal with { Paid = before.Paid, Unpaid = before.Unpaid }
            : goal;
    }

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        PlansInBook.Goals.Change(book,
            goals => goals.SetItem(Goal, After(goals.GetValueOrDefault(Goal), book.Line + 1)));

    /// <inheritdoc />
    public string Mend(long line) => $"change '{Goal}' with {Act.ChangeGoal.Way(Goal)}, or remove it";
}

/// <summary>Line: a goal is given up; what was saved for it stays in the fund.</summary>
/// <param name="Goal">Its id.</param>
/// <param name="Compartment">The fund.</param>
[LineKind("goalRemoved")]
public sealed record GoalRemoved(string Goal, string Compartment) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PlansInBook.Goals.Change(book, goals => goals.Remove(Goal));

    /// <inheritdoc />
    public string Mend(long line) => $"set '{Goal}' again with {Act.SetGoal.Way()}";
}
