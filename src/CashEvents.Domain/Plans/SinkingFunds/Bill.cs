namespace CashEvents.Domain.Plans;

/// <summary>One bill that a fund has to meet.</summary>
/// <param name="Goal">Id of the goal that it is for.</param>
/// <param name="Since">The day from which it is saved for: the due date before it, or the day on which the goal was
/// set.</param>
/// <param name="Due">The day on which it has to be there.</param>
/// <param name="Amount">How much, above zero.</param>
public sealed record Bill(string Goal, DateOnly Since, DateOnly Due, Money Amount);

/// <summary>The bill that a spend pays.</summary>
/// <param name="Goal">Id of its goal.</param>
/// <param name="Due">Its due date.</param>
public sealed record PaidBill(string Goal, DateOnly Due) : IConsequence
{
    /// <inheritdoc />
    public Book Done(Book book, IMovement movement) => book.WithGoal(Goal, goal => goal.Pay(Due));

    /// <inheritdoc />
    public Book Undone(Book book, IMovement reversal) => book.WithGoal(Goal, goal => goal.Unpay(Due));
}
