namespace CashEvents.Domain.Counts;

/// <summary>
/// A place's balance beside what was last found there: cash by its count, a bank part by a statement.
/// </summary>
/// <param name="Compartment">The compartment.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Count">The last count; null when it was never counted.</param>
public sealed record ReconciledPart(Compartment Compartment, Holding Holding, LastCount? Count)
{
    /// <summary>What the book says.</summary>
    public Money Balance => Compartment.Balance(Holding);

    /// <summary>
    /// What came and went since the count; nothing without one. Lines that became known later and that the count should
    /// have found are not in it.
    /// </summary>
    public Money MovedSince =>
        Count is { } count
            ? Balance - (count.Settled ? count.Counted + count.LearntSince : count.Expected)
            : Money.Zero;

    /// <summary>
    /// What should be there: found, and moved since. Nothing when it was never counted, since nobody saw it.
    /// </summary>
    public Money There => Count is { } count ? count.Counted + MovedSince : Money.Zero;

    /// <summary>
    /// What is there more than the book says, or less when negative: over and short that is not settled.
    /// </summary>
    public Money Difference => Count is null ? Money.Zero : There - Balance;

    /// <summary>The part of the balance that nobody has counted.</summary>
    public Money NotCounted => Count is null ? Balance : Money.Zero;
}

/// <summary>All bank parts together beside the bank's last statement.</summary>
/// <param name="Statement">The statement.</param>
/// <param name="Balance">What the book says of them now.</param>
public sealed record ReconciledBank(BankStatement Statement, Money Balance)
{
    /// <summary>
    /// What came and went since the statement; lines that became known later and belong before it are not in it.
    /// </summary>
    public Money MovedSince =>
        Balance - (Statement.Settled ? Statement.Stated + Statement.LearntSince : Statement.Expected);

    /// <summary>What should be there: stated, and moved since.</summary>
    public Money There => Statement.Stated + MovedSince;

    /// <summary>
    /// What is there more than the book says, or less when negative: over and short that is not settled.
    /// </summary>
    public Money Difference => There - Balance;
}

/// <summary>The book's balances against what was counted and what the bank states.</summary>
public static class Reconciliation
{
    /// <summary>
    /// Every place of the compartments in use that holds something or was ever counted, and of those that are closed
    /// what does not agree, in the order of the household's lists.
    /// </summary>
    public static IEnumerable<ReconciledPart> Of(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return
            from compartment in book.Compartments.Values
            orderby compartment.Line
            from holding in Enum.GetValues<Holding>()
            let place = new ReconciledPart(compartment, holding, book.LastCount(new Part(compartment.Id, holding)))
            where compartment.Closed
                ? place.Difference != Money.Zero
                : place.Count is not null || place.Balance != Money.Zero
            select place;
    }

    /// <summary>
    /// The bank parts together against the bank's last statement; null when none was read, or a bank part was counted
    /// by itself on a later day.
    /// </summary>
    public static ReconciledBank? BankOf(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.BankStatement is { } statement
            && !book.Compartments.Keys.Any(
                c => book.LastCount(new Part(c, Holding.Bank))?.OccurredOn > statement.OccurredOn)
            ? new ReconciledBank(statement, book.Compartments.Values.Aggregate(Money.Zero, (sum, c) => sum + c.Bank))
            : null;
    }

    /// <summary>The day of the oldest count among some places; null when none was counted.</summary>
    public static DateOnly? OldestCount(IEnumerable<ReconciledPart> parts) =>
        parts.Where(p => p.Count is not null).Select(p => (DateOnly?)p.Count!.OccurredOn).Min();
}
