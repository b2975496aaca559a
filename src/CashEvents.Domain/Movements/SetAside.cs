namespace CashEvents.Domain.Movements;

/// <summary>
/// Moves every note or coin of one value that was found in a count to a compartment for saving, once.
/// </summary>
/// <param name="Count">The line of the count, the last one of its place.</param>
/// <param name="Written">What it says.</param>
/// <param name="Denomination">The face value, in major units as written.</param>
/// <param name="To">The compartment for saving.</param>
/// <param name="OccurredOn">The day, not before the count; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record SetAside(long Count, CountTaken Written, decimal Denomination, string To, DateOnly? OccurredOn,
    string? Description) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var from = new Part(book.OpenCompartment(Written.Compartment, "count").Id, Written.Holding);
        var count = book.LastCount(from);
        if (count?.Line != Count)
        {
            throw Refusal.Conflict("count-replaced",
                $"A later count of the {from}, count {count?.Line}, stands in the stead of count {Count}: set its "
                    + $"notes aside.");
        }

        var to = new Part(book.OpenCompartment(To, "to").Id, Holding.Cash);
        if (book.Compartments[to.Compartment].Purpose != Purpose.Saving || to == from)
        {
            throw Refusal.Unfit("to", "compartment-not-for-saving",
                $"'{To}' is not another compartment with the purpose saving.",
                NearNames.Of(To, book.Compartments.Values.Where(c => c is { Closed: false, Purpose: Purpose.Saving })
                    .Select(c => c.Id)));
        }

        var value = book.Amount(Denomination, "denomination");
        var found = Written.Pieces.IsDefaultOrEmpty ? null : Written.Pieces.FirstOrDefault(p => p.Value == value);
        if (found is null)
        {
            throw Refusal.Unfit("denomination", "denomination-not-counted",
                Written.Pieces.IsDefaultOrEmpty ? $"Count {Count} gives a total only: count by denomination first."
                : $"Count {Count} found no note or coin of {book.Say(value)}. It found "
                    + $"{string.Join(", ", Written.Pieces.Select(p => book.Say(p.Value)))}.");
        }

        var day = book.Day(OccurredOn, today);
        if (day < Written.OccurredOn)
        {
            throw Refusal.Unfit("occurredOn", "before-count",
                $"The count was taken on {Written.OccurredOn:O}: set its notes aside on that day or later.");
        }

        if (count.SetAside.Contains(value))
        {
            return [];
        }

        var amount = Amounts.Denominations.Total([found]);
        book.MustHave(from, amount, day, "denomination", to: to.Compartment);
        book.MustLieInPlace(from, amount, "denomination");
        return [new Transferred(from, to, amount, day,
            Words.Description(Description)) { SetsAside = new CountedPieces(Count, value) }];
    }
}
