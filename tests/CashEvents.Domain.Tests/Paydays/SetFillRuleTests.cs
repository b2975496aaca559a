using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

/// <summary>What a compartment gets on payday, said and said anew.</summary>
public class SetFillRuleTests
{
    private static SetFillRule Rule(string compartment, FillRuleKind kind, decimal? amount = null,
        decimal? share = null, decimal? ceiling = null, Holding? holding = null, int? rank = null,
        decimal? roundTo = null) => new(compartment, kind, amount, share, ceiling, holding, rank, roundTo);

    [Fact]
    public void A_rule_of_each_kind_is_written_as_it_was_said()
    {
        Given().When(Rule(Ferry, FillRuleKind.Weekly)).Then(
            new FillRuleSet(Ferry, FillRuleKind.Weekly, null, null, null, Holding.Cash, 1, null));
        Given().When(Rule(Boat, FillRuleKind.Contribution, rank: 99)).Then(
            new FillRuleSet(Boat, FillRuleKind.Contribution, null, null, null, Holding.Cash, 99, null));
        Given().When(Rule(Ferry, FillRuleKind.Fixed, amount: 25m, holding: Holding.Bank, roundTo: 5m)).Then(
            new FillRuleSet(Ferry, FillRuleKind.Fixed, Eur(25m), null, null, Holding.Bank, 1, Eur(5m)));
        Given().When(Rule(Van, FillRuleKind.Share, share: 12.5m, ceiling: 300m)).Then(
            new FillRuleSet(Van, FillRuleKind.Share, null, 1_250, Eur(300m), Holding.Cash, 1, null));
        Given().When(Rule(Van, FillRuleKind.Ceiling, ceiling: 300m, holding: Holding.Cash)).Then(
            new FillRuleSet(Van, FillRuleKind.Ceiling, null, null, Eur(300m), Holding.Cash, 1, null));
    }

    [Fact]
    public void The_whole_and_a_hundredth_of_a_percent_are_shares()
    {
        Given().When(Rule(Van, FillRuleKind.Share, share: 100m)).Then(
            new FillRuleSet(Van, FillRuleKind.Share, null, 10_000, null, Holding.Cash, 1, null));
        Given().When(Rule(Van, FillRuleKind.Share, share: 0.01m)).Then(
            new FillRuleSet(Van, FillRuleKind.Share, null, 1, null, Holding.Cash, 1, null));
    }

    [Fact]
    public void What_is_so_already_is_no_line_and_a_rule_is_removed_and_said_again()
    {
        var said = Given().When(Rule(Ferry, FillRuleKind.Fixed, amount: 25m)).ThenWritten();

        said.When(Rule(Ferry, FillRuleKind.Fixed, amount: 25m, holding: Holding.Cash, rank: 1)).ThenNothing();
        said.When(Rule(Ferry, FillRuleKind.Fixed, amount: 26m)).ThenWritten();
        var removed = said.When(new RemoveFillRule(Ferry)).Then(new FillRuleRemoved(Ferry));
        Assert.Empty(removed.Book.FillRules);
        removed.When(Rule(Ferry, FillRuleKind.Fixed, amount: 25m)).ThenWritten();
    }

    [Fact]
    public void A_rule_that_cannot_be_so() => Given().When(Rule(Ferry, FillRuleKind.Weekly)).ThenWritten().Refuses(
        (Rule(Van, FillRuleKind.Weekly), "rule-not-for-purpose", "kind",
            "'bakery-van' has another purpose: a weekly amount is planned for compartments with the purpose "
                + "spending. Choose another kind."),
        (Rule(Van, FillRuleKind.Contribution), "rule-not-for-purpose", "kind",
            "'bakery-van' has another purpose: contributions are worked out for compartments with the purpose "
                + "sinkingFund. Choose another kind."),
        (Rule(Boat, FillRuleKind.Contribution, holding: Holding.Bank), "holding-not-for-rule", "holding",
            "A contribution goes to cash and bank as the fund is kept: leave `holding` out, and say it with "
                + "<SetFundTerms boat-insurance>."),
        (Rule(Ferry, FillRuleKind.Fixed), "amount-missing", "amount",
            "`amount` is needed: how much it gets each payday."),
        (Rule(Ferry, FillRuleKind.Weekly, amount: 5m), "amount-not-for-rule", "amount",
            "`amount` goes with another kind of rule: leave it out, or choose the kind \"fixed\"."),
        (Rule(Ferry, FillRuleKind.Share), "share-missing", "share",
            "`share` is needed: how much of what is left it gets, in percent."),
        (Rule(Ferry, FillRuleKind.Weekly, share: 5m), "share-not-for-rule", "share",
            "`share` goes with another kind of rule: leave it out, or choose the kind \"share\"."),
        (Rule(Ferry, FillRuleKind.Ceiling), "ceiling-missing", "ceiling",
            "`ceiling` is needed: the balance up to which it is filled."),
        (Rule(Ferry, FillRuleKind.Weekly, rank: 0), "rank-out-of-range", "rank",
            "`rank` is a whole number from 1, filled first, to 99."),
        (Rule(Ferry, FillRuleKind.Weekly, rank: 100), "rank-out-of-range", "rank",
            "`rank` is a whole number from 1, filled first, to 99."),
        (Rule(Ferry, FillRuleKind.Share, share: 0m), "percent-out-of-range", "share",
            "`share` is 0: write a percentage above 0 up to 100 with at most two decimals."),
        (Rule(Ferry, FillRuleKind.Share, share: 100.01m), "percent-out-of-range", "share",
            "`share` is 100.01: write a percentage above 0 up to 100 with at most two decimals."),
        (Rule(Ferry, FillRuleKind.Share, share: 0.125m), "percent-out-of-range", "share",
            "`share` is 0.125: write a percentage above 0 up to 100 with at most two decimals."),
        (Rule(Ferry, FillRuleKind.Fixed, amount: 0m), "amount-not-positive", "amount",
            "`amount` is 0: write an amount above zero, and choose the kind of movement for its direction."),
        (Rule(Ferry, FillRuleKind.Weekly, ceiling: -1m), "amount-not-positive", "ceiling",
            "`ceiling` is -1: write an amount above zero, and choose the kind of movement for its direction."),
        (Rule(Ferry, FillRuleKind.Weekly, roundTo: 0.001m), "too-many-decimals", "roundTo",
            "0.001 has 3 decimals, and EUR has 2: write it with at most 2."),
        (new RemoveFillRule(Van), "fill-rule-unknown", null,
            "'bakery-van' has no fill rule. <ListFillRules> lists them."));

    [Fact]
    public void Compartments_that_a_rule_could_have_been_meant_for_are_near_in_name_and_of_the_purpose()
    {
        var given = Given(new CompartmentOpened("bakery-vans", "Vans", "strongbox", Purpose.Spending),
            new CompartmentOpened("bakery-vane", "Vane", "strongbox", Purpose.Spending),
            new CompartmentClosed("bakery-vane"), new CompartmentOpened("bakery-vat", "Vat", "strongbox",
                Purpose.Saving));

        Assert.Equal(["bakery-vans"],
            given.When(Rule(Van, FillRuleKind.Weekly)).ThenRefused("rule-not-for-purpose", "kind").Suggestions);
        Assert.Equal([Ferry], Given().When(Rule(Ferry, FillRuleKind.Weekly)).ThenWritten()
            .When(new RemoveFillRule("ferry-fare")).ThenRefused("fill-rule-unknown").Suggestions);
    }
}
