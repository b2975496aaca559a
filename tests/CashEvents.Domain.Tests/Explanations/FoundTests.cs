using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>What lines tell of causes that were found, and how it moves the shares of docs/explanations.md.</summary>
public class FoundTests
{
    // 94.70 in the market days; all counts are of the 8th.
    private static readonly IBookEvent[] _usual =
    [
        Fill(Market, 100m, Sept(1)), Fill(Van, 100m, Sept(1)), Fill(Market, 100m, Sept(1), Holding.Bank),
        Spend(Market, 5.30m, Sept(5), description: "Cheese"),
    ];

    /// <summary>Of a hundred counts that disagree.</summary>
    public static TheoryData<MistakeKind, decimal> Shares => new()
    {
        { MistakeKind.NotRecorded, 32m }, { MistakeKind.WrongCompartment, 6m }, { MistakeKind.RecordedTwice, 6m },
        { MistakeKind.PiecesMiscounted, 5.5m }, { MistakeKind.WrongDay, 4.5m }, { MistakeKind.Rounded, 4.5m },
        { MistakeKind.WrongChange, 4.5m }, { MistakeKind.Transposed, 3.5m }, { MistakeKind.WrongDirection, 2.5m },
        { MistakeKind.WrongHolding, 2.5m }, { MistakeKind.WrongFigure, 2.5m }, { MistakeKind.WrongDenomination, 2.5m },
        { MistakeKind.Slid, 2m }, { MistakeKind.NotMoved, 2m },
    };

    [Theory]
    [MemberData(nameof(Shares))]
    public void A_kind_has_its_share_and_gains_by_what_was_found_as_one_of_25_counts(MistakeKind kind, decimal share)
    {
        var found = Learnt.Nothing with { Kinds = Learnt.Nothing.Kinds.Add(kind, 3), SomethingElse = 2 };

        Assert.Equal(share / 100m, new Priors(Learnt.Nothing).Of(kind));
        Assert.Equal(((25m * share / 100m) + 3m) / 30m, new Priors(found).Of(kind));
        Assert.Equal(((25m * 0.195m) + 2m) / 30m, new Priors(found).SomethingElse);
        Assert.Equal((5, 3), (found.All, found.Times(kind)));
    }

    [Fact]
    public void All_shares_are_one_whatever_was_found()
    {
        var found = Learnt.Nothing with
        { Kinds = Learnt.Nothing.Kinds.Add(MistakeKind.Slid, 4).Add(MistakeKind.NotMoved, 1), SomethingElse = 2 };

        Assert.All([new Priors(Learnt.Nothing), new Priors(found)],
            p => Assert.Equal(1m, Enum.GetValues<MistakeKind>().Sum(p.Of) + p.SomethingElse, 20));
    }

    /// <summary>What stands besides, what the count is over, what puts that line right; what was found.</summary>
    public static TheoryData<IBookEvent?, decimal, IReplacementCommand?, MistakeKind> Mended => new()
    {
        { new Filled(Market, Holding.Cash, Eur(2.22m), Sept(6), ""), -4.44m, Spent(Market, 2.22m),
            MistakeKind.WrongDirection },
        { Spend(Market, 2.22m, Sept(6)), 4.44m, new RecordRefund(Market, Holding.Cash, 2.22m, null, ""),
            MistakeKind.WrongDirection },
        { Spend(Van, 2.22m, Sept(6)), -2.22m, Spent(Market, 2.22m), MistakeKind.WrongCompartment },
        { Spend(Market, 2.22m, Sept(6)), 2.22m, Spent(Van, 2.22m), MistakeKind.WrongCompartment },
        { Spend(Market, 2.22m, Sept(6), Holding.Bank), -2.22m, Spent(Market, 2.22m), MistakeKind.WrongHolding },
        { Spend(Market, 2.22m, Sept(9)), -2.22m, Spent(Market, 2.22m) with { OccurredOn = Sept(6) },
            MistakeKind.WrongDay },
        { Spend(Market, 5.70m, Sept(6)), -1.80m, Spent(Market, 7.50m), MistakeKind.Transposed },
        { Spend(Market, 0.57m, Sept(6)), -5.13m, Spent(Market, 5.70m), MistakeKind.Slid },
        // No slip of the pen makes the one of the other.
        { Spend(Market, 5.70m, Sept(6)), -2.71m, Spent(Market, 8.41m), MistakeKind.WrongChange },
        { Spend(Market, 2.22m, Sept(6)), 2.22m, null, MistakeKind.NotMoved },
        { Spend(Market, 5.30m, Sept(6)), 5.30m, null, MistakeKind.RecordedTwice },
        { Spend(Market, 5.30m, Sept(5).AddDays(-7)), 5.30m, null, MistakeKind.RecordedTwice },
        { Spend(Market, 5.30m, Sept(5).AddDays(-8)), 5.30m, null, MistakeKind.NotMoved },
        { Spend(Van, 5.30m, Sept(5)), 0m, null, MistakeKind.NotMoved },
        { new Refunded(Market, Holding.Cash, Eur(5.30m), Sept(5), ""), -5.30m, null, MistakeKind.NotMoved },
    };

    [Theory]
    [MemberData(nameof(Mended))]
    public void What_puts_a_line_right_tells_what_was_wrong(IBookEvent? besides, decimal over,
        IReplacementCommand? right, MistakeKind kind)
    {
        // Money before all days that are asked for; the count of the place that the line is about.
        var place = besides is Spent { Compartment: Van } && right is null ? Van : Market;
        var open = Told.Of([Fill(Market, 50m, Sept(1).AddDays(-20)), .. _usual, besides!]);
        var should = open.Book.BalanceOn(Cash(place), Sept(8)).Minor / 100m;
        open = open.And([Count(place, 0m, should + (place == Van ? 5.30m : over), Sept(8))]);
        var (line, said) = (FirstLine + 5, besides!);

        var mended = open.And(right is null ? new ReverseLine(line, said, "No").Decide(open.Book, Today)
            : new AmendLine(line, said, right, "Read again").Decide(open.Book, Today));

        Assert.Equal(0, Found(open).All);
        Assert.Equal([(kind, 1)], Found(mended).Kinds.Select(k => (k.Key, k.Value)));
        Assert.Equal(0, Found(mended).SomethingElse);
    }

    [Fact]
    public void Up_to_two_lines_that_were_missing_are_learnt_and_more_were_tidied_up()
    {
        Told With(params decimal[] missing) => missing.Aggregate(
            Told.Of([.. _usual, Count(Market, 0m, 94.70m - missing.Sum(), Sept(8))]),
            (told, amount) => told.And([Spend(Market, amount, Sept(6))]));

        Assert.Equal(1, Found(With(3m)).Times(MistakeKind.NotRecorded));
        Assert.Equal(2, Found(With(3m, 4m)).Times(MistakeKind.NotRecorded));
        Assert.Equal(0, Found(With(3m, 4m, 5m)).All);
        // Not all of the difference, or not of the days before it.
        Assert.Equal(0, Found(Told.Of([.. _usual, Count(Market, 0m, 90m, Sept(8)), Spend(Market, 3m, Sept(6))])).All);
        Assert.Equal(0, Found(Told.Of([.. _usual, Count(Market, 0m, 91.70m, Sept(8)), Spend(Market, 3m, Sept(8)),
            Spend(Market, 3m, Sept(9))])).All);
    }

    /// <summary>What was counted first and then, on the same day, of 94.70; what was wrong with the first.</summary>
    public static TheoryData<decimal, decimal, MistakeKind?> Again => new()
    {
        { 74.70m, 94.70m, MistakeKind.PiecesMiscounted },
        { 94.20m, 94.70m, MistakeKind.PiecesMiscounted },
        // A fifty for a twenty, a five for a two.
        { 64.70m, 94.70m, MistakeKind.WrongDenomination },
        { 97.70m, 94.70m, MistakeKind.WrongDenomination },
        { 49.70m, 94.70m, MistakeKind.Transposed },
        { 947m, 94.70m, MistakeKind.Slid },
        // Something else that agrees now are pieces too; if it does not agree, nothing is known.
        { 83.34m, 94.70m, MistakeKind.PiecesMiscounted },
        { 83.34m, 93.33m, null },
        { 74.33m, 94.33m, MistakeKind.PiecesMiscounted },
        { 94.70m, 94.70m, null },
        { 74.70m, 74.70m, null },
    };

    [Theory]
    [MemberData(nameof(Again))]
    public void A_count_of_the_same_day_once_more_tells_what_was_wrong_with_it(decimal first, decimal then,
        MistakeKind? kind)
    {
        var told = Told.Of([.. _usual, Count(Market, 0m, first, Sept(8)), Count(Market, 0m, then, Sept(8))]);

        Assert.Equal(kind is { } found ? [(found, 1)] : [], Found(told).Kinds.Select(k => (k.Key, k.Value)));
        // Of the next day it is another count.
        Assert.Equal(0, Found(Told.Of([.. _usual, Count(Market, 0m, first, Sept(8)),
            Count(Market, 0m, then, Sept(9))])).All);
    }

    [Fact]
    public void What_was_settled_was_something_else_until_it_is_undone()
    {
        var settlement = Settle(FirstLine + 4, Market, -4.70m, Sept(8));
        IBookEvent[] lines = [.. _usual, Count(Market, 0m, 90m, Sept(8)), settlement];

        Assert.Equal((1, 1), (Found(Told.Of(lines)).SomethingElse, Found(Told.Of(lines)).All));
        Assert.Equal(0, Found(Told.Of([.. lines,
            Reversed(FirstLine + 5, settlement) with { Count = FirstLine + 4 }])).All);
        // What is written for that count then puts nothing right.
        Assert.Equal(1, Found(Told.Of([.. lines, Spend(Market, 4.70m, Sept(6))])).All);
    }

    private static Learnt Found(Told told) => Learnt.From(told.Book, told.Lines);

    private static RecordSpend Spent(string compartment, decimal amount) =>
        new(compartment, Holding.Cash, amount, null, "");
}
