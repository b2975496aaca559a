using System.Globalization;

namespace CashEvents.Domain.Explanations;

/// <summary>What a pen does to one amount on its way from where it is known to where it is carried.</summary>
public enum SlipKind
{
    /// <summary>Left out: nothing was carried. The difference is the item itself.</summary>
    Omission,

    /// <summary>Carried twice. The difference is the item itself.</summary>
    Doubling,

    /// <summary>Carried to the other side, in for out or out for in. Half the difference is the item.</summary>
    WrongSide,

    /// <summary>Two neighbouring figures changed places. The difference divides by nine.</summary>
    Transposition,

    /// <summary>
    /// The point slid by one place or two. The difference divides by nine, and is nine or ninety-nine times the smaller
    /// amount.
    /// </summary>
    Slide,
}

/// <summary>
/// An amount that was carried as another: one number against another, as a bookkeeper compares a list with a ledger.
/// </summary>
/// <param name="Kind">What happened on the way.</param>
/// <param name="Item">The amount as it is: in positive, out negative.</param>
/// <param name="Carried">What became of it.</param>
/// <remarks>
/// The tests by which a difference is traced are those of Kester, Accounting Theory and Practice, volume 1 (1917), in
/// the chapter on the trial balance:
/// the difference itself, half of it, and whether it divides by nine.
/// </remarks>
public readonly record struct Slip(SlipKind Kind, Money Item, Money Carried)
{
    private static readonly long[] Places = [10, 100];

    /// <summary>What the slip puts into a total that carries it, beyond what belongs there.</summary>
    public Money Difference => Carried - Item;

    /// <summary>The slip that makes one amount of another; null where none does, or where both are the same.</summary>
    /// <param name="item">The amount as it is.</param>
    /// <param name="carried">What was carried.</param>
    public static Slip? Between(Money item, Money carried) => item == carried || item == Money.Zero ? null
        : carried == Money.Zero ? new Slip(SlipKind.Omission, item, carried)
        : carried.Minor == 2 * item.Minor ? new Slip(SlipKind.Doubling, item, carried)
        : carried == -item ? new Slip(SlipKind.WrongSide, item, carried)
        : ItemsOf(carried).Where(slip => slip.Item == item).Select(slip => (Slip?)slip).FirstOrDefault();

    /// <summary>
    /// Every amount that a transposition or a slide would have carried as this one. An item has as many figures as what
    /// was carried where two of them changed places.
    /// </summary>
    /// <param name="carried">What was carried.</param>
    public static IEnumerable<Slip> ItemsOf(Money carried) => TranspositionsOf(carried).Concat(SlidesOf(carried));

    /// <summary>
    /// In how many ways a slip of its kind could have befallen the item: by so many the chance of this one is divided.
    /// </summary>
    public int Ways => Kind switch
    {
        // Changing places goes both ways, so as many lead from an amount as lead to it.
        SlipKind.Transposition => TranspositionsOf(Item).Count(),
        SlipKind.Slide => 2 * Places.Length,
        _ => 1,
    };

    private static IEnumerable<Slip> TranspositionsOf(Money carried)
    {
        var figures = Math.Abs(carried.Minor).ToString(CultureInfo.InvariantCulture).ToCharArray();
        for (var i = 0; i + 1 < figures.Length; i++)
        {
            if (figures[i] == figures[i + 1] || (i == 0 && figures[1] == '0'))
            {
                continue;
            }

            (figures[i], figures[i + 1]) = (figures[i + 1], figures[i]);
            yield return new Slip(SlipKind.Transposition,
                Signed(long.Parse(figures, CultureInfo.InvariantCulture), carried), carried);
            (figures[i], figures[i + 1]) = (figures[i + 1], figures[i]);
        }
    }

    private static IEnumerable<Slip> SlidesOf(Money carried)
    {
        var amount = Math.Abs(carried.Minor);
        foreach (var places in Places)
        {
            if (amount > 0 && amount <= Money.Largest.Minor / places)
            {
                yield return new Slip(SlipKind.Slide, Signed(amount * places, carried), carried);
            }

            if (amount > 0 && amount % places == 0)
            {
                yield return new Slip(SlipKind.Slide, Signed(amount / places, carried), carried);
            }
        }
    }

    private static Money Signed(long amount, Money like) => new(like < Money.Zero ? -amount : amount);
}
