using System.Numerics;

namespace CashEvents.Domain.Paydays;

/// <summary>A rule and what it rests on when a payday is shared out.</summary>
/// <param name="Rule">The rule.</param>
/// <param name="Amount">What it wants, zero or more, before its ceiling and rounding; of no account for a share, which
/// depends on what is left.</param>
/// <param name="There">What the compartment holds, cash and bank together.</param>
/// <param name="BankPercent">How much of the fill goes to the bank, 0 to 100; rounded down to the minor unit.</param>
public sealed record Want(FillRule Rule, Money Amount, Money There, int BankPercent);

/// <summary>Shares out what there is on a payday among compartments.</summary>
/// <remarks>
/// Ranks are filled one after another. Amounts are rounded up to a rule's step as long as the money of the rank lasts,
/// shares and what a ceiling leaves room for are rounded down.
/// Where a fill is divided between cash and bank its amount stays exact: the cash part is the nearest whole step, and
/// the bank takes the rest.
/// Where a rank can't have what it wants it gets all that is left, in proportion, exact to the minor unit by largest
/// remainder; later ranks get nothing. Steps are then kept as far as can be:
/// each share is rounded down to its step, whole steps go on to whom rounding took most, and what is less than a step
/// goes to the rules without a step that lack most, then to the others.
/// No cash part is ever less than whole notes: a step in cash is a multiple of the smallest note, and what makes no
/// note is left in the bank.
/// </remarks>
public static class FillShares
{
    private const int BasisPoints = 10_000;

    /// <summary>What each gets: by rank, within a rank in the order given.</summary>
    /// <param name="available">What there is; below zero is nothing.</param>
    /// <param name="wants">What is wanted, each compartment once.</param>
    /// <param name="smallestNote">The smallest note or coin that is drawn; the minor unit if left out.</param>
    /// <exception cref="OverflowException">The amounts add up to more than 64 bits of minor units.</exception>
    public static IReadOnlyList<CompartmentFill> Of(Money available, IEnumerable<Want> wants,
        Money? smallestNote = null)
    {
        var note = smallestNote ?? new Money(1);
        var left = available > Money.Zero ? available : Money.Zero;
        var fills = new List<CompartmentFill>();
        foreach (var rank in wants.GroupBy(want => want.Rule.Rank).OrderBy(rank => rank.Key))
        {
            var asked = rank.Select(want => Asked.Of(want, left, note)).ToList();
            var spare = left - Sum(asked.Select(a => a.Need));
            IReadOnlyList<Money> given = spare < Money.Zero ? Cut(left, asked) : Give(spare, asked);
            fills.AddRange(asked.Zip(given, (a, amount) => a.Gets(amount)));
            // What makes no note in a rank that is short is for no later one.
            left = spare < Money.Zero ? Money.Zero : left - Sum(given);
        }

        return fills;
    }

    private static List<Money> Give(Money spare, IReadOnlyList<Asked> asked)
    {
        var given = new List<Money>();
        foreach (var a in asked)
        {
            var rounding = a.Rounded - a.Need;
            given.Add(rounding <= spare ? a.Rounded : a.Need);
            spare -= rounding <= spare ? rounding : Money.Zero;
        }

        return given;
    }

    private static Money[] Cut(Money left, IReadOnlyList<Asked> asked)
    {
        var shares = LargestRemainder.Share(left, [.. asked.Select(a => a.Need.Minor)]);
        var given = shares.Zip(asked, (share, a) => a.Down(share)).ToArray();
        var rest = left - Sum(given);
        var places = Enumerable.Range(0, given.Length).ToList();
        foreach (var i in places.Where(i => asked[i].Step is not null).OrderByDescending(i => shares[i] - given[i]))
        {
            Add(i, asked[i].Step is { } step && step <= rest && given[i] + step <= asked[i].Need ? step : Money.Zero);
        }

        foreach (var i in places.OrderBy(i => asked[i].Step is not null).ThenByDescending(i => asked[i].Need - given[i])
            .ToList())
        {
            var lacks = asked[i].Need - given[i];
            Add(i, asked[i].InNotes(rest < lacks ? rest : lacks));
        }

        return given;

        void Add(int i, Money amount) => (given[i], rest) = (given[i] + amount, rest - amount);
    }

    private static Money Sum(IEnumerable<Money> amounts) =>
        amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);

    /// <summary>What a rule asks for once its rank is reached.</summary>
    /// <param name="Want">The rule and what it rests on.</param>
    /// <param name="Wanted">What it comes to.</param>
    /// <param name="OverCeiling">What of that would be above the ceiling.</param>
    /// <param name="Need">What it has to get if nothing is to be cut.</param>
    /// <param name="Rounded">What it gets when the money lasts for rounding up too.</param>
    /// <param name="Note">The smallest note that is drawn.</param>
    private sealed record Asked(Want Want, Money Wanted, Money OverCeiling, Money Need, Money Rounded, Money Note)
    {
        private static readonly Money _minorUnit = new(1);

        private bool IsDivided => Want.BankPercent is > 0 and < 100;

        /// <summary>The step of the whole amount; null where it is exact.</summary>
        public Money? Step => IsDivided ? null : Want.BankPercent == 100
            ? Want.Rule.RoundTo
            : InCash is var step && step > _minorUnit ? step : null;

        // In whole notes, whatever step the rule names.
        private Money InCash => Want.Rule.RoundTo is { } step
            ? new Money(step.Minor / (long)BigInteger.GreatestCommonDivisor(step.Minor, Note.Minor) * Note.Minor)
            : Note;

        public static Asked Of(Want want, Money left, Money note)
        {
            var rule = want.Rule;
            var wanted = rule.Kind == FillRuleKind.Share
                ? new Money((long)(left.Minor * (Int128)rule.ShareBasisPoints!.Value / BasisPoints))
                : want.Amount;
            var room = rule.Ceiling is not { } ceiling ? wanted : ceiling > want.There
                ? ceiling - want.There
                : Money.Zero;
            var within = wanted < room ? wanted : room;
            var asked = new Asked(want, wanted, wanted - within, within, within, note);
            var up = asked.Up(within);
            var rounded = rule.Kind == FillRuleKind.Share || (rule.Ceiling is not null && up > room)
                ? asked.Down(within)
                : up;
            var drawable = asked.InNotes(within);
            return asked with { Need = rounded < drawable ? rounded : drawable, Rounded = rounded };
        }

        public Money Down(Money amount) => Step is { } step ? Down(amount, step) : amount;

        /// <summary>What of an amount can be given: where all of it is cash, what whole notes make.</summary>
        public Money InNotes(Money amount) => Want.BankPercent == 0 ? Down(amount, Note) : amount;

        public CompartmentFill Gets(Money amount)
        {
            var cash = amount - new Money((long)(amount.Minor * (Int128)Want.BankPercent / 100));
            cash = IsDivided ? Nearest(cash, amount) : cash;
            return new CompartmentFill(
                Want.Rule.Compartment, Want.Rule.Kind, Want.Rule.Rank, Wanted, OverCeiling,
                amount < Need ? Need - amount : Money.Zero, cash, amount - cash);
        }

        private Money Nearest(Money cash, Money most)
        {
            var (step, down) = (InCash, Down(cash, InCash));
            return down + step <= most && down + step - cash <= cash - down ? down + step : down;
        }

        private Money Up(Money amount) =>
            Step is { } step && Down(amount) is var down && down < amount ? down + step : amount;

        private static Money Down(Money amount, Money step) => new(amount.Minor - (amount.Minor % step.Minor));
    }
}
