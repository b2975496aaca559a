namespace CashEvents.Domain.Counts;

/// <summary>
/// Line: a statement's difference is posted in one compartment's bank part, so that the bank parts agree with the bank.
/// </summary>
/// <param name="Statement">The line of the statement.</param>
/// <param name="Compartment">The compartment whose bank part takes it.</param>
/// <param name="Difference">Over when positive, short when negative; never zero.</param>
/// <param name="OccurredOn">The day it was accepted.</param>
/// <param name="Description">The reason.</param>
[LineKind("bankStatementSettlement")]
public sealed record BankStatementSettled(long Statement, string Compartment, Money Difference, DateOnly OccurredOn,
    string Description) : IMovement
{
    /// <inheritdoc />
    public MovementKind Kind => MovementKind.Settlement;

    /// <inheritdoc />
    public Correction? Corrects => null;

    /// <inheritdoc />
    public IEnumerable<Posting> Postings => [new(new Part(Compartment, Holding.Bank), Difference)];

    /// <inheritdoc />
    public IEnumerable<IConsequence> Consequences => [new SettledStatement(Statement)];
}

/// <summary>
/// A bank statement is settled by its over or short. Undone, it is open again unless a later one stands in its stead.
/// </summary>
/// <param name="Statement">The line of the statement.</param>
public sealed record SettledStatement(long Statement) : IConsequence
{
    /// <inheritdoc />
    public Book Done(Book book, IMovement movement) => With(book, statement => statement with { Settled = true });

    /// <inheritdoc />
    public Book Undone(Book book, IMovement reversal) => With(book, statement => statement.Opened);

    private Book With(Book book, Func<BankStatement, BankStatement> change) =>
        book.BankStatement is { } last && last.Line == Statement ? CountsInBook.Statement.On(book, change(last)) : book;
}

/// <summary>
/// Posts a statement's difference in one compartment: interest that the bank has paid, a fee that it has taken.
/// </summary>
/// <param name="Statement">The line of the statement, the last one.</param>
/// <param name="Compartment">The compartment whose bank part takes it.</param>
/// <param name="Reason">Why it is accepted.</param>
/// <param name="OccurredOn">The day, not before the statement's; today if left out.</param>
public sealed record SettleBankStatement(long Statement, string Compartment, string Reason, DateOnly? OccurredOn)
    : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var reason = Words.Reason(Reason);
        if (book.BankStatement is not { } statement || statement.Line != Statement)
        {
            throw Refusal.NotFound("statement-not-open",
                $"There is no bank statement {Statement} that could be settled: "
                    + (book.BankStatement is { } last
                        ? $"the last, by its day, is {last.Line} of {last.OccurredOn:O}."
                        : "none was read yet."));
        }

        if (statement.Settled)
        {
            throw Refusal.Conflict("statement-settled", $"Bank statement {Statement} is settled already.");
        }

        if (statement.Difference == Money.Zero)
        {
            throw Refusal.Conflict("nothing-to-settle",
                $"Bank statement {Statement} agrees with the book: there is no over or short to post.");
        }

        var compartment = book.OpenCompartment(Compartment, "compartment");
        var day = book.Day(OccurredOn, today);
        if (day < statement.OccurredOn)
        {
            throw Refusal.Unfit("occurredOn", "before-statement",
                $"The bank stated its balance of {statement.OccurredOn:O}: settle it on that day or later.");
        }

        if (statement.Difference < Money.Zero)
        {
            book.MustHave(new Part(compartment.Id, Holding.Bank), -statement.Difference, day, "compartment");
        }

        return [new BankStatementSettled(Statement, compartment.Id, statement.Difference, day, reason)];
    }
}
