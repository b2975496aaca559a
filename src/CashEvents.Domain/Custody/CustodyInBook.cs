using System.Collections.Immutable;

namespace CashEvents.Domain.Custody;

/// <summary>What the book keeps of who holds what, and where it lies.</summary>
public static class CustodyInBook
{
    /// <summary>Cash that is carried and not back yet.</summary>
    public static readonly Section<ImmutableDictionary<string, Handover>> Handovers =
        new("handovers", ImmutableDictionary<string, Handover>.Empty)
        {
            KeepsInUse = (handovers, compartment) => handovers.TryGetValue(compartment, out var open)
                ? new Refusal(RefusalSort.Conflict, "handover-open",
                    $"'{open.Carrier}' has taken cash of '{compartment}' out since {open.Since:O}: bring it back "
                        + $"with {Act.ReturnHandover.Way(open.Id)}, then close.", "closed")
                : null,
            Follows = (handovers, posted) =>
                handovers.IsEmpty
                    ? handovers
                    : handovers.After(posted.Movement, posted.Line, posted.Origin ?? posted.Line),
        };

    /// <summary>Where wallets may lie.</summary>
    public static readonly Section<ImmutableDictionary<string, Place>> Places = new("places",
        ImmutableDictionary<string, Place>.Empty);

    /// <summary>Limits above which the household would be cautioned.</summary>
    public static readonly Section<CautionLimits?> CautionLimits = new("caution limits", null);

    extension(Book book)
    {
        /// <summary>
        /// Cash that is carried and not back yet, by compartment: one person at a time carries from each.
        /// </summary>
        public ImmutableDictionary<string, Handover> Handovers => Handovers.In(book);

        /// <summary>Where wallets may lie, by id.</summary>
        public ImmutableDictionary<string, Place> Places => Places.In(book);

        /// <summary>Above which amounts of cash the household would be cautioned; null when it never said.</summary>
        public CautionLimits? CautionLimits => CautionLimits.In(book);
    }
}
