using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Households;

public class HouseholdTests
{
    private static DescribeHousehold Describe(string name = "Harbour Row", string? currency = "EUR",
        string timeZone = "Europe/Dublin", DayOfWeek firstDay = DayOfWeek.Monday) =>
        new(name, currency, timeZone, firstDay);

    [Fact]
    public void A_household_is_described_whole() =>
        GivenBook().When(Describe(" Harbour Row ", "CAD", "America/Halifax", DayOfWeek.Sunday))
            .Then(new HouseholdDescribed("Harbour Row", "CAD", "America/Halifax", DayOfWeek.Sunday));

    [Fact]
    public void A_book_is_opened_before_its_currency_is_named() =>
        GivenBook().When(Describe(currency: null))
            .Then(new HouseholdDescribed("Harbour Row", null, "Europe/Dublin", DayOfWeek.Monday));

    [Fact]
    public void The_same_description_again_writes_no_line() => Given(Fill(Ferry, 1m)).When(Describe()).ThenNothing();

    [Fact]
    public void Until_there_are_amounts_the_currency_can_change() =>
        Given().When(Describe(currency: "ISK"))
            .Then(new HouseholdDescribed("Harbour Row", "ISK", "Europe/Dublin", DayOfWeek.Monday));

    [Theory]
    [InlineData("USD")]
    [InlineData(null)]
    public void Once_there_are_amounts_the_currency_stays(string? other)
    {
        var refusal = Given(Fill(Ferry, 1m)).When(Describe(currency: other)).ThenRefused("currency-fixed", "currency");

        Assert.Equal(RefusalSort.Conflict, refusal.Sort);
    }

    [Fact]
    public void A_count_is_an_amount_too() =>
    Given(Count(Ferry, 0m, 0m)).When(Describe(currency: "USD")).ThenRefused("currency-fixed", "currency");

    [Fact]
    public void Name_time_zone_and_first_day_of_the_week_can_change_at_any_time() =>
        Given(Fill(Ferry, 1m)).When(Describe("Quay House", "EUR", "Europe/Madrid", DayOfWeek.Saturday))
            .Then(new HouseholdDescribed("Quay House", "EUR", "Europe/Madrid", DayOfWeek.Saturday));

    [Fact]
    public void A_country_can_be_named_and_left_out_again_at_any_time()
    {
        var irish = new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday, "IE");

        Given(Fill(Ferry, 1m)).When(Describe() with { Country = "IE" }).Then(irish);
        Given(irish).When(Describe() with { Country = "IE" }).ThenNothing();
        Given(irish).When(Describe()).Then(irish with { Country = null });
    }

    [Fact]
    public void The_smallest_and_the_largest_note_to_draw_are_remembered_and_left_out_again()
    {
        var fives = new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin",
            DayOfWeek.Monday)
        { SmallestNote = Eur(5m), LargestNote = Eur(50m) };

        var given = Given(Fill(Ferry, 1m)).When(Describe() with { SmallestNote = 5m, LargestNote = 50m }).Then(fives);
        Assert.Equal([Eur(50m), Eur(20m), Eur(10m), Eur(5m)], given.Book.Household!.ToDraw);
        given.When(Describe() with { SmallestNote = 5.00m, LargestNote = 50m }).ThenNothing();
        given.When(Describe() with { SmallestNote = 20m, LargestNote = 20m })
            .Then(fives with { SmallestNote = Eur(20m), LargestNote = Eur(20m) });
        Assert.Equal(14, given.When(Describe())
            .Then(fives with { SmallestNote = null, LargestNote = null }).Book.Household!.ToDraw.Length);
        Assert.Equal([Eur(2m), Eur(1m)],
            Given().When(Describe() with { SmallestNote = 1m, LargestNote = 2m })
                .Then(fives with { SmallestNote = Eur(1m), LargestNote = Eur(2m) }).Book.Household!.ToDraw);
    }

    [Fact]
    public void A_note_to_draw_is_one_that_a_bank_gives()
    {
        Assert.Contains("200, 100, 50",
            Given().When(Describe() with { SmallestNote = 3m })
                .ThenRefused("denomination-unknown", "smallestNote").Detail, StringComparison.Ordinal);
        Given().When(Describe() with { LargestNote = 500m }).ThenRefused("denomination-unknown", "largestNote");
        Given().When(Describe() with { SmallestNote = 50m, LargestNote = 20m })
            .ThenRefused("notes-crossed", "largestNote");
        Given().When(Describe(currency: "ISK") with { SmallestNote = 1000m })
            .ThenRefused("denominations-unknown", "smallestNote");
        GivenBook().When(Describe(currency: null) with { SmallestNote = 5m })
            .ThenRefused("currency-missing", "currency");
    }

    [Theory]
    [InlineData("ie")]
    [InlineData("IRL")]
    [InlineData("")]
    public void A_country_is_told_by_two_capitals(string country) =>
    Given().When(Describe() with { Country = country }).ThenRefused("country-unknown", "country");

    [Theory]
    [InlineData("eur")]
    [InlineData("XAU")]
    [InlineData("XXX")]
    [InlineData("euro")]
    [InlineData("")]
    public void A_currency_is_one_that_people_hold_notes_of(string currency) =>
    GivenBook().When(Describe(currency: currency)).ThenRefused("currency-unknown", "currency");

    [Theory]
    [InlineData("Europe/Atlantis")]
    [InlineData("Eastern Standard Time")]
    [InlineData("../../etc/hostname")]
    [InlineData("Europe")]
    [InlineData("")]
    public void A_time_zone_is_known_by_its_IANA_name(string timeZone) =>
    GivenBook().When(Describe(timeZone: timeZone)).ThenRefused("time-zone-unknown", "timeZone");

    [Theory]
    [InlineData("UTC")]
    [InlineData("Europe/Dublin")]
    [InlineData("Pacific/Auckland")]
    [InlineData("America/Argentina/Buenos_Aires")]
    public void IANA_names_are_taken(string timeZone) => Assert.True(Household.IsTimeZone(timeZone));

    [Fact]
    public void A_name_is_needed() => GivenBook().When(Describe(name: " ")).ThenRefused("words-missing", "name");
}
