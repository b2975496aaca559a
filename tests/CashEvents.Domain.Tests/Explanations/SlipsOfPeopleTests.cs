using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>What people do wrong with pens, purses and days, beside what a trial balance shows.</summary>
public class SlipsOfPeopleTests
{
    private static readonly IBookEvent[] Usual =
    [
        Fill(Ferry, 200m, Sept(1)), Fill(Market, 200m, Sept(1)),
        Spend(Ferry, 4.82m, Sept(2), description: "Return"), Spend(Ferry, 4.82m, Sept(5), description: "Return"),
        Spend(Ferry, 17.36m, Sept(6), description: "Bicycle"), Spend(Market, 63.17m, Sept(7), description: "Fish"),
        Spend(Ferry, 9.18m, Sept(8), description: "Boat"), Spend(Market, 12.64m, Sept(9), description: "Cheese"),
    ];

    private static string Text(MistakeKind kind) =>
        $"{char.ToLowerInvariant(kind.ToString()[0])}{kind.ToString()[1..]}";

    private const decimal Spent = 4.82m + 4.82m + 17.36m + 9.18m;

    /// <summary>What is written besides, what is found less than the book says, and what is said first.</summary>
    public static TheoryData<string, IBookEvent?, decimal, string> Slips => new()
    {
        { "4.82 written as 5.00", Spend(Ferry, 5m, Sept(12), description: "Return"), 0.18m, "rounded-LINE-482" },
        { "1.61 written as 1.00", Spend(Ferry, 1m, Sept(12), description: "Tea"), -0.61m, "rounded-LINE-161" },
        { "4.82 as 4.32", Spend(Ferry, 4.32m, Sept(12), description: "Return"), -0.50m, "wrongFigure-LINE-482" },
        { "9.18 never written", null, -9.18m, "notRecorded-spend-ferry-fares-cash-918" },
        { "a refund of 17.36 never written", null, 17.36m, "notRecorded-refund-ferry-fares-cash-1736" },
    };

    [Theory]
    [MemberData(nameof(Slips))]
    public void A_slip_is_said_first(string what, IBookEvent? besides, decimal found, string code)
    {
        Assert.NotEmpty(what);
        var lines = besides is null ? Usual : [.. Usual, besides];
        var left = 200m - Spent - (besides is Spent s ? s.Amount.Minor / 100m : 0m);
        var told = Told.Of([.. lines, Count(Ferry, left, left + found)]);

        var first = told.Explained().Explanations[0];

        Assert.Equal(code.Replace("LINE", $"{FirstLine + Usual.Length}", StringComparison.Ordinal), first.Code);
        Assert.NotEmpty(first.Why);
        Assert.NotEmpty(first.Look);
    }

    [Fact]
    public void A_note_is_taken_for_its_neighbour_where_it_was_counted_or_where_nobody_said_what_was()
    {
        const string tenForTwenty = "wrongDenomination-1000-2000";
        var counted = Count(Ferry, 60m, 50m);

        Assert.Contains(tenForTwenty, Told.Of(Fill(Ferry, 60m, Sept(1)), counted).Codes());
        Assert.DoesNotContain(tenForTwenty, Told.Of(Fill(Ferry, 60m, Sept(1)),
            counted with { Pieces = [new Pieces(Eur(50m), 1)] }).Codes());
        Assert.Contains("wrongDenomination-1000-500", Told.Of(Fill(Ferry, 5m, Sept(1)),
            Count(Ferry, 5m, 10m) with { Pieces = [new Pieces(Eur(10m), 1)] }).Codes());
    }

    [Fact]
    public void A_line_with_the_same_words_or_with_none_is_likelier_a_copy_than_one_with_others()
    {
        decimal Chance(string words) => Told.Of([.. Usual, Spend(Ferry, 17.36m, Sept(6), description: words),
                Count(Ferry, 200m - Spent - 17.36m, 200m - Spent)]).Explained().Explanations
            .Where(e => e.Mistakes is [NeedlesslyRecorded { Kind: MistakeKind.RecordedTwice }])
            .Sum(e => e.Likelihood);

        var (same, none, other) = (Chance("Bicycle"), Chance(""), Chance("Return"));

        Assert.True(same > other && none > other && other > 0m, $"{same}, {none}, {other}");
    }

    [Fact]
    public void Two_notes_that_stuck_together_are_counted_again()
    {
        var found = Count(Ferry, 200m - Spent, 180m - Spent) with
        {
            Pieces = [new Pieces(Eur(20m), 6), new Pieces(Eur(10m), 2), new Pieces(Eur(2m), 1),
                new Pieces(Eur(1m), 1), new Pieces(Eur(0.50m), 1), new Pieces(Eur(0.20m), 1), new Pieces(Eur(0.10m), 1),
                new Pieces(Eur(0.02m), 1)],
        };
        var told = Told.Of([.. Usual, found]);

        var after = told.Accept("piecesMiscounted-0-2000", told.Book.CashCount(Ferry)!.Line);

        Assert.Equal(Money.Zero, after.Book.CashCount(Ferry)!.Difference);
        Assert.Equal(7, after.Lines.Select(l => l.Event).OfType<CountTaken>().Last().Pieces[0].Count);
    }

    [Fact]
    public void A_count_is_written_anew_though_money_moved_later_that_day()
    {
        // A twenty was missed; a bus was paid after the count, on its day.
        var counted = Count(Ferry, 200m - Spent, 180m - Spent) with { Pieces = [new Pieces(Eur(20m), 7)] };
        var told = Told.Of([.. Usual, counted, Spend(Ferry, 3.40m, description: "Bus")]);
        var count = told.Book.CashCount(Ferry)!.Line;

        var missed = told.Explained().Explanations.Single(e => e.Code == "piecesMiscounted-0-2000");
        var after = told.Accept(missed.Code, count);

        Assert.Contains("3.40", missed.Mistakes[0].Say(told.Book), StringComparison.Ordinal);
        Assert.Equal(Money.Zero, after.Book.CashCount(Ferry)!.Difference);
        Assert.Equal(Eur(200m - Spent - 3.40m), after.Book.CashCount(Ferry)!.Counted);
    }

    /// <summary>Of 163.82 that should be there: what the count says, and what became of its total.</summary>
    [Theory]
    [InlineData(136.82, MistakeKind.Transposed)]
    [InlineData(1638.20, MistakeKind.Slid)]
    [InlineData(163.00, MistakeKind.Rounded)]
    [InlineData(193.82, MistakeKind.WrongFigure)]
    public void A_total_that_was_written_wrong_is_counted_again(double written, MistakeKind kind)
    {
        var told = Told.Of([.. Usual, Count(Ferry, 163.82m, (decimal)written)]);
        var code = $"{Text(kind)}-{FirstLine + Usual.Length}-16382";

        var listed = told.Explained().Explanations.Single(e => e.Code == code);
        var after = told.Accept(code, told.Book.CashCount(Ferry)!.Line);

        Assert.Equal(Money.Zero, after.Book.CashCount(Ferry)!.Difference);
        Assert.Equal(Cash(Ferry), Assert.Single(listed.Mistakes[0].Effects).Place);
        Assert.Contains("total", listed.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void A_total_that_pieces_add_up_to_was_not_written_wrong()
    {
        var told = Told.Of([.. Usual, Count(Ferry, 163.82m, 136.82m) with
        {
            Pieces = [new Pieces(Eur(50m), 2), new Pieces(Eur(20m), 1), new Pieces(Eur(10m), 1), new Pieces(Eur(5m), 1),
                new Pieces(Eur(1m), 1), new Pieces(Eur(0.50m), 1), new Pieces(Eur(0.20m), 1), new Pieces(Eur(0.10m), 1),
                new Pieces(Eur(0.02m), 1)],
        }]);

        Assert.DoesNotContain($"transposed-{FirstLine + Usual.Length}-16382", told.Codes());
    }

    [Fact]
    public void A_round_sum_moved_to_a_compartment_that_was_not_counted_asks_for_that_count()
    {
        var told = Told.Of([.. Usual, Transfer(Cash(Ferry), Cash(Market), 20m, Sept(10)),
            Transfer(Cash(Ferry), Cash(Market), 10m, Sept(11)), Count(Ferry, 170m - Spent, 140m - Spent)]);

        var explained = told.Explained();

        Assert.Contains("notRecorded-transfer-ferry-fares-cash-market-days-cash-3000", told.Codes());
        Assert.Equal(Cash(Market), explained.Next!.Place);
        Assert.Contains("over by", explained.Next.Says, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0.53)]
    [InlineData(2.10)]
    public void What_is_lost_is_not_a_purchase(decimal lost)
    {
        var told = Told.Of([.. Usual, Count(Ferry, 200m - Spent, 200m - Spent - lost)]);

        Assert.True(told.Explained().SomethingElse > 0.4m);
        Assert.DoesNotContain(told.Explained().Explanations, e => e.Likelihood >= 0.5m);
    }

    [Fact]
    public void One_mistake_behind_two_counts_has_one_chance_wherever_it_is_told()
    {
        var told = Told.Of([.. Usual, Spend(Ferry, 12.64m, Sept(10), description: "Cheese"),
            Count(Market, 200m - 63.17m - 12.64m, 200m - 63.17m - 12.64m - 12.64m),
            Count(Ferry, 200m - Spent - 12.64m, 200m - Spent)]);
        var code = $"wrongCompartment-{FirstLine + Usual.Length}-market-days-cash-ferry-fares-cash";

        var ferry = told.Explained();
        var market = told.Explained(told.Book.CashCount(Market)!.Line);

        Assert.Equal(code, ferry.Together!.Code);
        Assert.Equal(ferry.Together.Likelihood, ferry.Explanations.Single(e => e.Code == code).Likelihood);
        Assert.Equal(ferry.Together.Likelihood, market.Together!.Likelihood);
        Assert.Equal(ferry.Together.Likelihood, market.Explanations.Single(e => e.Code == code).Likelihood);
    }

    [Fact]
    public void A_pair_of_anything_is_not_put_before_one_mistake_that_fits()
    {
        var told = Told.Of([.. Usual, Count(Ferry, 200m - Spent, 200m - Spent - 4.82m)]);

        Assert.Single(told.Explained().Explanations[0].Mistakes);
        Assert.All(told.Explained().Explanations.Where(e => e.Mistakes.Length == 2),
            e => Assert.True(e.Likelihood < 0.1m, e.Code));
    }

    [Fact]
    public void Two_mistakes_in_two_compartments_are_put_right_one_after_the_other()
    {
        // Cheese was written here, and a return is missing here besides.
        var told = Told.Of([.. Usual, Spend(Ferry, 12.64m, Sept(10), description: "Cheese"),
            Count(Market, 200m - 63.17m - 12.64m, 200m - 63.17m - 12.64m - 12.64m),
            Count(Ferry, 200m - Spent - 12.64m, 200m - Spent - 4.82m)]);
        var code = $"wrongCompartment-{FirstLine + Usual.Length}-market-days-cash-ferry-fares-cash";

        Assert.Contains($"{code}+notRecorded-spend-ferry-fares-cash-482", told.Explained().Explanations
            .Select(e => string.Join('+', e.Code.Split('+').Order(StringComparer.Ordinal).Reverse())));
    }
}
