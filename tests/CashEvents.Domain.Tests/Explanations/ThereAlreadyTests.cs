using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>
/// A movement that seems not to be recorded may stand in the book already: on a later day, or elsewhere.
/// </summary>
public class ThereAlreadyTests
{
    private static readonly IBookEvent[] Usual =
    [
        Fill(Ferry, 100m, Sept(1)), Fill(Market, 100m, Sept(1)), Fill(Ferry, 100m, Sept(1), Domain.Books.Holding.Bank),
        Spend(Ferry, 8.40m, Sept(3), description: "Return"), Spend(Market, 14.20m, Sept(4), description: "Cheese"),
        Spend(Ferry, 8.40m, Sept(8), description: "Return"), Spend(Ferry, 3.20m, Sept(9), description: "Bus"),
    ];

    // The ferry fares are 11.70 short.
    private static readonly IBookEvent Short = Count(Ferry, 80m, 68.30m, Sept(15));

    /// <summary>The line that has the 11.70, and what it is said to be.</summary>
    public static TheoryData<string, string> Elsewhere => new()
    {
        { "the next day", "wrongDay-LINE" },
        { "the market days", "wrongCompartment-LINE-ferry-fares-cash-market-days-cash" },
        { "the bank part", "wrongHolding-LINE-ferry-fares-cash-ferry-fares-bank" },
    };

    [Theory]
    [MemberData(nameof(Elsewhere))]
    public void A_line_on_a_later_day_or_elsewhere_is_named_and_accepting_it_writes_no_second_one(string where,
        string code)
    {
        var told = With(where);
        var expected = code.Replace("LINE", $"{Line}", StringComparison.Ordinal);

        Assert.Contains(expected, told.Codes());
        var after = told.Accept(expected, told.Book.CashCount(Ferry)!.Line);

        Assert.Equal(Money.Zero, after.Book.CashCount(Ferry)!.Difference);
        Assert.Single(after.Lines, l => l.Event is Spent s && s.Amount == Eur(11.70m)
            && after.Book.Corrections.By(l.Number) is null);
    }

    [Theory]
    [MemberData(nameof(Elsewhere))]
    public void What_is_not_recorded_names_the_line_that_it_may_be_and_has_what_is_left_of_the_chance(string where,
        string code)
    {
        var told = With(where);
        var expected = code.Replace("LINE", $"{Line}", StringComparison.Ordinal);

        var missing = told.Explained().Explanations.Single(e => e.Mistakes is [NotRecorded { Movement: Spent }]);

        Assert.EndsWith($"-beside-{Line}", missing.Code, StringComparison.Ordinal);
        Assert.Contains($"line {Line} ", missing.Mistakes[0].Say(told.Book), StringComparison.Ordinal);
        Assert.Contains($"line {Line} ", missing.Look, StringComparison.Ordinal);
        Assert.DoesNotContain("once before", missing.Why, StringComparison.Ordinal);
        Assert.Equal([expected], ((NotRecorded)missing.Mistakes[0]).MayBe.Select(m => m.Code));
        Assert.True(missing.Likelihood + told.Likelihood(expected) <= 1m);
        Assert.True(missing.Likelihood < Without().Likelihood("notRecorded-spend-ferry-fares-cash-1170"));
    }

    [Fact]
    public void A_line_in_a_compartment_whose_count_agrees_is_not_it()
    {
        var told = Told.Of([.. Usual, Spend(Market, 11.70m, Sept(14)), Count(Market, 74.10m, 74.10m, Sept(15)), Short]);

        Assert.DoesNotContain(told.Codes(), c => c.StartsWith("wrongCompartment", StringComparison.Ordinal));
        Assert.Contains("notRecorded-spend-ferry-fares-cash-1170", told.Codes());
    }

    [Fact]
    public void A_line_elsewhere_on_a_later_day_is_named_too()
    {
        var told = Told.Of([.. Usual, Short, Spend(Market, 11.70m, Sept(16))]);

        Assert.Contains($"notRecorded-spend-ferry-fares-cash-1170-beside-{Line + 1}", told.Codes());
    }

    [Fact]
    public void A_line_that_is_as_usual_the_other_way_round_is_named_too()
    {
        // What is spent again and again came in once, and is missing; what comes in each week is not.
        var turned = Told.Of([.. Usual, Fill(Ferry, 8.40m, Sept(10)), Count(Ferry, 88.40m, 80m, Sept(15))]);
        var usual = Told.Of([.. Usual, Fill(Ferry, 5m, Sept(6)), Fill(Ferry, 5m, Sept(13)),
            Count(Ferry, 90m, 85m, Sept(15))]);

        Assert.Contains($"notRecorded-spend-ferry-fares-cash-840-beside-{Line}", turned.Codes());
        Assert.Contains("notRecorded-spend-ferry-fares-cash-500", usual.Codes());
    }

    [Fact]
    public void A_line_that_happened_after_the_count_is_dated_after_it()
    {
        var told = Told.Of([.. Usual, Spend(Ferry, 11.70m, Sept(14)), Count(Ferry, 68.30m, 80m, Sept(15))]);

        var after = told.Accept($"wrongDay-{Line}", told.Book.CashCount(Ferry)!.Line);

        Assert.Equal(Money.Zero, after.Book.CashCount(Ferry)!.Difference);
        Assert.Equal(Sept(16), after.Lines.Select(l => l.Event).OfType<Spent>()
            .Single(s => s.Corrects?.Line == Line).OccurredOn);
    }

    private static long Line => FirstLine + Usual.Length;

    private static Told Without() => Told.Of([.. Usual, Spend(Van, 1m, Sept(14)), Short]);

    private static Told With(string where) => Told.Of([.. Usual, where switch
    {
        "the next day" => Spend(Ferry, 11.70m, Sept(16)),
        "the market days" => Spend(Market, 11.70m, Sept(14)),
        _ => Spend(Ferry, 11.70m, Sept(14), Domain.Books.Holding.Bank),
    }, Short]);
}
