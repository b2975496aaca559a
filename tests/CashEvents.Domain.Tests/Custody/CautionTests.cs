using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Custody;

public class CautionTests
{
    private static readonly HouseholdDescribed _overThere = new("Harbour Row", "USD", "America/New_York",
        DayOfWeek.Sunday, "US");

    private static Book With(IBookEvent household, params IBookEvent[] lines) =>
        GivenBook([household, .. Opening.Skip(1), .. lines]).Book;

    // The special limit of the standard US homeowners form, ISO HO 00 03, Coverage C: 200 dollars on money and bank
    // notes.
    [Theory]
    [InlineData(200.00, false)]
    [InlineData(200.01, true)]
    public void In_the_United_States_cash_at_home_above_the_limit_of_the_standard_homeowners_form_is_cautioned(
        double amount, bool cautioned)
    {
        var cautions = Caution.AtHome(
            With(_overThere, Fill(Ferry, (decimal)amount), Fill(Boat, 900m, holding: Holding.Bank))).ToList();

        Assert.Equal(cautioned, cautions.Count == 1);
        Assert.All(cautions, c =>
        {
            Assert.Equal(("cash-at-home", new Money(200_01), new Money(200_00)), (c.Code, c.Amount, c.Limit.Amount));
            Assert.Contains("HO 00 03", c.Limit.Source, StringComparison.Ordinal);
            Assert.Contains("unless the policy raises it", c.Detail, StringComparison.Ordinal);
            Assert.Contains("your own policy", c.Detail, StringComparison.Ordinal);
            Assert.Contains("local law", c.Detail, StringComparison.Ordinal);
        });
    }

    [Fact]
    public void Elsewhere_and_in_another_currency_only_a_limit_that_the_household_states_is_cautioned()
    {
        Assert.Empty(Caution.AtHome(With(Opening[0], Fill(Ferry, 9_000m))));
        Assert.Empty(Caution.AtHome(With(_overThere with { Currency = "CAD" }, Fill(Ferry, 9_000m))));
        Assert.Empty(Caution.AtHome(With(_overThere with { Country = "CA" }, Fill(Ferry, 9_000m))));

        var caution = Assert.Single(
            Caution.AtHome(With(Opening[0], new CautionLimitsSet(Eur(500m), null), Fill(Ferry, 500.01m))));
        Assert.Equal((Eur(500.01m), $"the household's own limit, set on line {FirstLine}"),
            (caution.Amount, caution.Limit.Source));
        Assert.StartsWith("500.01 EUR lies at home, more than the 500.00 EUR that the household has set as its limit.",
            caution.Detail);
    }

    [Fact]
    public void A_limit_that_the_household_states_goes_before_that_of_the_form()
    {
        Assert.Empty(Caution.AtHome(
            With(_overThere, new CautionLimitsSet(new Money(1_000_00), null), Fill(Ferry, 1_000m))));
        Assert.Single(Caution.AtHome(
            With(_overThere, new CautionLimitsSet(new Money(1_000_00), null), new CautionLimitsSet(null, null),
                Fill(Ferry, 1_000m))));
    }

    [Fact]
    public void What_is_carried_or_lies_elsewhere_is_not_at_home()
    {
        var given = new IBookEvent[] { new CautionLimitsSet(Eur(40m), null), Fill(Ferry, 30m), Fill(Market, 11m),
            Fill(Boat, 10m) };

        Assert.Single(Caution.AtHome(With(Opening[0], given)));
        Assert.Empty(Caution.AtHome(
            With(Opening[0], [.. given, new PlaceSet("boat-locker", "Boat locker", false, ["market-bag"], Today)])));
        Assert.Empty(Caution.AtHome(
            With(Opening[0], [.. given, new HandedOver(Market, "partner", Eur(11m), Today, "")])));
        Assert.Single(Caution.AtHome(
            With(Opening[0], [.. given, new HandedOver(Market, "partner", Eur(9.99m), Today, "")])));
    }

    [Fact]
    public void What_one_person_carries_is_cautioned_over_all_compartments()
    {
        Book Carrying(params (string Compartment, string Carrier)[] carried) => With(Opening[0],
            [new CautionLimitsSet(null, Eur(50m)), Fill(Ferry, 30m), Fill(Market, 21m), Fill(Van, 50m),
                .. carried.Select(c => new HandedOver(c.Compartment, c.Carrier,
                    Eur(c.Compartment == Van ? 50m : c.Compartment == Ferry ? 30m : 21m), Today, ""))]);

        Assert.Empty(Caution.Carried(Carrying((Van, "keeper"), (Ferry, "partner"))));
        var caution = Assert.Single(
            Caution.Carried(Carrying((Van, "keeper"), (Ferry, "partner"), (Market, "Partner"))));
        Assert.Equal(("cash-carried", Eur(51m), Eur(50m)), (caution.Code, caution.Amount, caution.Limit.Amount));
        Assert.StartsWith("'partner' carries 51.00 EUR, more than the 50.00 EUR that the household has set as its "
            + "limit.", caution.Detail);
        Assert.Empty(Caution.Carried(Carrying((Van, "keeper"), (Ferry, "partner"), (Market, "partner")), "keeper"));
    }

    // 31 CFR 1010.311: "a transaction in currency of more than $10,000"; 31 U.S.C. 5324 forbids structuring
    // transactions to evade the report.
    [Theory]
    [InlineData(9_999.99, false)]
    [InlineData(10_000.00, false)]
    [InlineData(10_000.01, true)]
    public void A_draw_that_the_bank_reports_says_that_splitting_it_to_avoid_the_report_is_unlawful(double amount,
        bool cautioned)
    {
        var draw = Currency.Of("USD").Exactly((decimal)amount, "amount");

        var cautions = Caution.Draw(With(_overThere), draw).ToList();

        Assert.Equal(cautioned, cautions.Count == 1);
        Assert.All(cautions, c =>
        {
            Assert.Equal(("draw-reported", "31 CFR 1010.311; 31 U.S.C. 5324"), (c.Code, c.Limit.Source));
            Assert.Contains("Splitting a draw to avoid the report is unlawful.", c.Detail, StringComparison.Ordinal);
        });
        Assert.Empty(Caution.Draw(With(Opening[0]), draw));
        Assert.Empty(Caution.Draw(With(_overThere with { Currency = "JPY" }), draw));
    }

    [Fact]
    public void Limits_are_set_whole_and_once()
    {
        var given = Given().When(new SetCautionLimits(500m, 100m)).Then(new CautionLimitsSet(Eur(500m), Eur(100m)));

        given.When(new SetCautionLimits(500m, 100m)).ThenNothing();
        given.When(new SetCautionLimits(null, 100m)).Then(new CautionLimitsSet(null, Eur(100m)));
        Given().When(new SetCautionLimits(null, null)).ThenNothing();
        given.When(new SetCautionLimits(0m, null)).ThenRefused("amount-not-positive", "cashAtHome");
        given.When(new SetCautionLimits(null, 1.001m)).ThenRefused("too-many-decimals", "carried");
    }
}
