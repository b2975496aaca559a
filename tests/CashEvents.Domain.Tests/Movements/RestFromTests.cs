using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

/// <summary>A spend that another compartment covers.</summary>
public class RestFromTests
{
    private static RecordSpend SpendFerry(decimal amount, string restFrom, DateOnly? on = null,
        Holding holding = Holding.Cash) =>
        new(Ferry, holding, amount, on, "car deck", restFrom);

    [Fact]
    public void Exactly_what_is_missing_is_transferred_first()
    {
        var asked = Given(Fill(Ferry, 30m), Fill(Van, 100m)).When(SpendFerry(48.20m, Van));

        asked.Then(Transfer(Cash(Van), Cash(Ferry), 18.20m, description: "car deck"),
            Spend(Ferry, 48.20m, description: "car deck"));
        asked.ThenHolds((Cash(Ferry), 0m), (Cash(Van), 81.80m));
    }

    [Fact]
    public void An_empty_compartment_is_covered_whole() =>
        Given(Fill(Van, 100m)).When(SpendFerry(100m, Van)).ThenHolds((Cash(Ferry), 0m), (Cash(Van), 0m));

    [Fact]
    public void Nothing_is_transferred_when_nothing_is_missing() =>
        Given(Fill(Ferry, 48.20m), Fill(Van, 100m)).When(SpendFerry(48.20m, Van))
            .Then(Spend(Ferry, 48.20m, description: "car deck"));

    [Fact]
    public void The_cover_comes_out_of_the_same_holding() =>
        Given(Fill(Van, 100m), Fill(Van, 7m, holding: Holding.Bank))
            .When(SpendFerry(5m, Van, holding: Holding.Bank))
            .Then(Transfer(Bank(Van), Bank(Ferry), 5m, description: "car deck"),
                Spend(Ferry, 5m, holding: Holding.Bank, description: "car deck"));

    [Fact]
    public void What_a_later_day_lacks_is_covered_on_the_day_of_the_spend() =>
        Given(Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 35m, Sept(10)), Fill(Van, 100m, Sept(1)))
            .When(SpendFerry(12m, Van, Sept(5)))
            .Then(Transfer(Cash(Van), Cash(Ferry), 7m, Sept(5), "car deck"),
                Spend(Ferry, 12m, Sept(5), description: "car deck"));

    [Fact]
    public void A_compartment_does_not_cover_itself_even_when_it_has_enough() =>
        Given(Fill(Ferry, 100m)).When(SpendFerry(10m, Ferry)).ThenRefused("rest-from-itself", "restFrom");

    [Fact]
    public void An_unknown_or_closed_cover_is_refused_even_when_nothing_is_missing()
    {
        var book = Given(Fill(Ferry, 100m), new CompartmentClosed(Boat));

        Assert.Equal([Van], book.When(SpendFerry(10m, "baker-van"))
            .ThenRefused("compartment-unknown", "restFrom").Suggestions);
        book.When(SpendFerry(10m, Boat)).ThenRefused("compartment-closed", "restFrom");
    }

    [Fact]
    public void A_cover_with_too_little_is_refused_with_what_it_has()
    {
        var refusal = Given(Fill(Ferry, 30m), Fill(Van, 5m)).When(SpendFerry(50m, Van))
            .ThenRefused("not-enough", "restFrom");

        Assert.Equal((Cash(Van), Eur(5m), Eur(15m)),
            (refusal.Shortage!.Place, refusal.Shortage!.Available, refusal.Shortage!.Missing));
    }

    [Fact]
    public void A_cover_with_too_little_that_day_is_refused_though_it_has_enough_today() =>
        Given(Fill(Van, 50m, Sept(10))).When(SpendFerry(20m, Van, Sept(9))).ThenRefused("not-enough", "restFrom");

    [Fact]
    public void In_place_of_a_cover_that_is_too_small_only_one_that_can_cover_all_of_it_is_named()
    {
        // 20 is to be covered: the bakery van lacks 15 of it, but 17 would not do in its place, and the ferry's own 30
        // are spent already.
        var refusal = Given(Fill(Ferry, 30m), Fill(Van, 5m), Fill(Market, 17m), Fill(Boat, 20m))
            .When(SpendFerry(50m, Van)).ThenRefused("not-enough", "restFrom");

        Assert.Equal([new Giver(Boat, Eur(20m))], refusal.Shortage!.CouldGive);
    }
}
