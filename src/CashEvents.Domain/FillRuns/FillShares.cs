using CashEvents.Domain.Amounts;

namespace CashEvents.Domain.FillRuns;

/// <summary>A rule and what it rests on when a payday is shared out.</summary>
/// <param name="Rule">The rule.</param>
/// <param name="Amount">What it wants, zero or more, before its ceiling and rounding; of no account for a share, which depends on what is left.</param>
/// <param name="There">What the compartment holds, cash and bank together.</param>
/// <param name="BankPercent">How much of the fill goes to the bank, 0 to 100; rounded down to the minor unit.</param>
public sealed record Want(FillRule Rule, Money Amount, Money There, int BankPercent);

/// <summary>Shares out what there is on a payday among compartments.</summary>
/// <remarks>
/// Ranks are filled one after another. Amounts are rounded up to a rule's step as long as the money of the rank lasts, shares and what a ceiling leaves room for are rounded down.
/// Where a rank can't have what it wants it gets all that is left, in proportion, exact to the minor unit by largest remainder; later ranks get nothing. Steps are then kept as far as can be:
/// each share is rounded down to its step, whole steps go on to whom rounding took most, and what is less than a step goes to the rules without a step that lack most, then to the others.
/// </remarks>
public static class FillShares
{
    private const int BasisPoints = 10_000;

    /// <summary>What each gets: by rank, within a rank in the order given.</summary>
    /// <param name="available">What there is; below zero is nothing.</param>
    /// <param name="wants">What is wanted, each compartment once.</param>
    /// <exception cref="OverflowException">The amounts add up to more than 64 bits of minor units.</exception>
    public static IReadOnlyList<CompartmentFill> Of(Money available, IEnumerable<Want> wants)
    {
        var left = available > Money.Zero ? available : Money.Zero;
        var fills = new List<CompartmentFill>();
        foreach (var rank in wants.GroupBy(want => want.Rule.Rank).OrderBy(rank => rank.Key))
        {
            var asked = rank.Select(want => Asked.Of(want, left)).ToList();
            var given = Give(left, asked);
            fills.AddRange(asked.Zip(given, (a, amount) => a.Gets(amount)));
            left -= Sum(given);
        }

        return fills;
    }

    private static IReadOnlyList<Money> Give(Money left, IReadOnlyList<Asked> asked)
    {
        var spare = left - Sum(asked.Select(a => a.Need));
        if (spare < Money.Zero)
        {
            return Cut(left, asked);
        }

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

        foreach (var i in places.OrderBy(i => asked[i].Step is not null).ThenByDescending(i => asked[i].Need - given[i]).ToList())
        {
            var lacks = asked[i].Need - given[i];
            Add(i, rest < lacks ? rest : lacks);
        }

        return given;

        void Add(int i, Money amount) => (given[i], rest) = (given[i] + amount, rest - amount);
    }

    private static Money Sum(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, amount) => sum + amount);

    /// <summary>What a rule asks for once its rank is reached.</summary>
    /// <param name="Want">The rule and what it rests on.</param>
    /// <param name="Wanted">What it comes to.</param>
    /// <param name="OverCeiling">What of that would be above the ceiling.</param>
    /// <param name="Need">What it has to get if nothing is to be cut.</param>
    /// <param name="Rounded">What it gets when the money lasts for rounding up too.</param>
    private sealed record Asked(Want Want, Money Wanted, Money OverCeiling, Money Need, Money Rounded)
    {
        public Money? Step => Want.Rule.RoundTo;

        public static Asked Of(Want want, Money left)
        {
            var rule = want.Rule;
            var wanted = rule.Kind == FillRuleKind.Share ? new Money((long)(left.Minor * (Int128)rule.ShareBasisPoints!.Value / BasisPoints)) : want.Amount;
            var room = rule.Ceiling is not { } ceiling ? wanted : ceiling > want.There ? ceiling - want.There : Money.Zero;
            var within = wanted < room ? wanted : room;
            var asked = new Asked(want, wanted, wanted - within, within, within);
            var up = asked.Up(within);
            var rounded = rule.Kind == FillRuleKind.Share || (rule.Ceiling is not null && up > room) ? asked.Down(within) : up;
            return asked with { Need = rounded < within ? rounded : within, Rounded = rounded };
        }

        public Money Down(Money amount) => Step is { } step ? new Money(amount.Minor - (amount.Minor % step.Minor)) : amount;

        public CompartmentFill Gets(Money amount)
        {
            var bank = new Money((long)(amount.Minor * (Int128)Want.BankPercent / 100));
            return new CompartmentFill(
                Want.Rule.Compartment, Want.Rule.Kind, Want.Rule.Rank, Wanted, OverCeiling, amount < Need ? Need - amount : Money.Zero, amount - bank, bank);
        }

        private Money Up(Money amount) => Step is { } step && Down(amount) is var down && down < amount ? down + step : amount;
    }
}
