using System.Globalization;

namespace CashEvents.Domain.Plans;

/// <summary>
/// Gives a compartment a saving plan: either a first amount with its growth and a number of steps, or a list of
/// amounts.
/// </summary>
/// <param name="Compartment">A compartment for saving.</param>
/// <param name="First">The first amount, in major units as written.</param>
/// <param name="Growth">How much each step is more than the one before it, zero or more; zero if left out.</param>
/// <param name="Count">How many steps.</param>
/// <param name="Amounts">The amounts one by one.</param>
/// <param name="Seed">A number that shuffles the amounts, the same way each time.</param>
/// <param name="From">The day on which the first step is due; today if left out.</param>
/// <param name="Every">The period from one step to the next; a week if left out.</param>
public sealed record SetSavingPlan(
    string Compartment, decimal? First, decimal? Growth, int? Count, IReadOnlyList<decimal>? Amounts, long? Seed,
    DateOnly? From, string? Every) : ICommand
{
    private const int MostYearsFromToday = 30;

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        var compartment = book.OpenCompartment(Compartment, "compartment");
        if (compartment.Purpose != Purpose.Saving)
        {
            throw Refusal.Unfit("compartment", "compartment-not-for-saving",
                $"'{compartment.Id}' has another purpose: steps are put aside in compartments with the purpose saving.",
                NearNames.Of(compartment.Id,
                    book.Compartments.Values.Where(c => c is { Closed: false, Purpose: Purpose.Saving })
                        .Select(c => c.Id)));
        }

        var from = From ?? today;
        if (from < today.AddYears(-MostYearsFromToday) || from > today.AddYears(MostYearsFromToday))
        {
            throw Refusal.Unfit("from", "from-too-far", $"`from` is within {MostYearsFromToday} years of today.");
        }

        var every = Period.Read(Every ?? "P1W", "every").ToString();
        return [new SavingPlanSet(compartment.Id, Amounts is null ? Following(book) : Listed(book, Amounts), from,
            every)];
    }

    private SavingSteps Following(Book book)
    {
        var first = book.Amount(First
            ?? throw Refusal.Unfit("first", "steps-missing",
                "Send `first` and `count`, with `growth` if the steps grow; or `amounts`."), "first");
        var growth = book.Currency.Exactly(Growth ?? 0m, "growth");
        if (growth < Money.Zero)
        {
            throw Refusal.Unfit("growth", "growth-negative",
                $"`growth` is {Growth!.Value.ToString(CultureInfo.InvariantCulture)}: zero or more; list falling "
                    + $"amounts in `amounts`.");
        }

        var count = Count is >= 1 and <= SavingSteps.Most ? Count.Value
            : throw Refusal.Unfit("count", "steps-out-of-range",
                $"`count` is the number of steps, 1 to {SavingSteps.Most}.");
        return (Int128)first.Minor + ((Int128)growth.Minor * (count - 1)) <= Money.Largest.Minor
            ? new SavingSteps(first, growth, count, [], Seed)
            : throw Refusal.Unfit("growth", "amount-too-large",
                $"The last step would be more than one line carries, {book.Say(Money.Largest)}.");
    }

    private SavingSteps Listed(Book book, IReadOnlyList<decimal> amounts)
    {
        if (First is not null || Growth is not null || Count is not null)
        {
            throw Refusal.Unfit("amounts", "steps-twice", "Send either `amounts`, or `first`, `growth` and `count`.");
        }

        return amounts.Count is >= 1 and <= SavingSteps.Most
            ? new SavingSteps(Money.Zero, Money.Zero, amounts.Count,
                [.. amounts.Select((a, n) =>
                    book.Amount(a, string.Create(CultureInfo.InvariantCulture, $"amounts[{n}]")))], Seed)
            : throw Refusal.Unfit("amounts", "steps-out-of-range", $"`amounts` lists 1 to {SavingSteps.Most} steps.");
    }
}
