using System.Collections.Immutable;
using CashEvents.Domain.Amounts;
using CashEvents.Domain.Books;
using CashEvents.Domain.Compartments;
using CashEvents.Domain.Counts;

namespace CashEvents.Domain.Custody;

/// <summary>Cash of a compartment that somebody has taken out of its place and carries, until it comes back with a count.</summary>
/// <param name="Id">The line that says so.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Carrier">Who carries it: the name of a key, or of somebody whom a keeper named.</param>
/// <param name="Carried">What they took, less what they paid from it. Corrections may leave less than that in the compartment: <see cref="HandoverRules.Carried"/> is what can be there.</param>
/// <param name="Since">The day on which they took it.</param>
public sealed record Handover(long Id, string Compartment, string Carrier, Money Carried, DateOnly Since)
{
    /// <summary>Whether somebody of this name carries it.</summary>
    public bool IsCarriedBy(string? name) => string.Equals(name, Carrier, StringComparison.OrdinalIgnoreCase);
}

/// <summary>What a movement changes in the notes that somebody carries.</summary>
/// <param name="Handover">The handover's id.</param>
/// <param name="Change">Into the carrier's hands is positive, out of them negative.</param>
public readonly record struct CarriedChange(long Handover, Money Change);

/// <summary>Line: cash of a compartment is taken out of its place. Moves none.</summary>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Carrier">Who carries it from now on.</param>
/// <param name="Amount">How much, above zero.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
public sealed record HandedOver(string Compartment, string Carrier, Money Amount, DateOnly OccurredOn, string Description) : IDatedEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];

    internal Handover At(long line) => new(line, Compartment, Carrier, Amount, OccurredOn);
}

/// <summary>Line: what was carried is back in its place. The count that found it stands in the same entry.</summary>
/// <param name="Handover">The line of the handover.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
public sealed record HandoverReturned(long Handover, string Compartment, DateOnly OccurredOn, string Description) : IDatedEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment];
}

/// <summary>Where the cash of a compartment is.</summary>
public static class HandoverRules
{
    /// <summary>What somebody carries of a compartment's cash: never more than there is.</summary>
    public static Money Carried(this Book book, string compartment)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Handovers.TryGetValue(compartment, out var handover) ? Least(handover.Carried, book.Compartments[compartment].Cash) : Money.Zero;
    }

    /// <summary>What of a compartment's cash lies in its place.</summary>
    public static Money LiesInPlace(this Book book, string compartment)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Compartments[compartment].Cash - book.Carried(compartment);
    }

    /// <summary>The handovers after a movement.</summary>
    internal static ImmutableDictionary<string, Handover> After(
        this ImmutableDictionary<string, Handover> handovers, IMovement movement, ImmutableDictionary<string, Compartment> before, ImmutableDictionary<string, Compartment> after)
    {
        foreach (var (place, _) in movement.Postings.Where(p => p.Place.Holding == Holding.Cash))
        {
            if (handovers.TryGetValue(place.Compartment, out var handover))
            {
                handovers = handovers.SetItem(place.Compartment, handover with { Carried = After(handover, movement, before[place.Compartment].Cash, after[place.Compartment].Cash) });
            }
        }

        return handovers;
    }

    private static Money After(Handover handover, IMovement movement, Money before, Money after)
    {
        // A correction may have left less than was carried; within its entry the rest may still come back.
        var carried = movement.Corrects is null ? Least(handover.Carried, before) : handover.Carried;
        carried = movement.Carried is { } change && change.Handover == handover.Id ? Positive(carried + change.Change) : carried;
        // A count that was short found that no more is there, whoever has it.
        return movement is CountSettled ? Least(carried, after) : carried;
    }

    // Between the lines of an amendment a balance may be below zero.
    private static Money Least(Money carried, Money cash) => carried <= cash ? carried : Positive(cash);

    private static Money Positive(Money money) => money < Money.Zero ? Money.Zero : money;
}
