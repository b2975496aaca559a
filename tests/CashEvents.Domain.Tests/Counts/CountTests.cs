using System.Globalization;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

public class CountTests
{
    private static DateOnly August(int day) => new(2026, 8, day);

    private static RecordCount CountFerry(decimal? total = null, Dictionary<string, long>? pieces = null,
        DateOnly? on = null, Holding holding = Holding.Cash) =>
        new(Ferry, holding, total, pieces, on, null, null);

    [Fact]
    public void A_count_by_total_stands_beside_what_was_expected_and_moves_nothing()
    {
        var asked = Given(Fill(Ferry, 40m)).When(CountFerry(38.50m));

        asked.Then(Count(Ferry, expected: 40m, counted: 38.50m));
        asked.ThenHolds((Cash(Ferry), 40m));
    }

    [Fact]
    public void A_count_by_denominations_adds_the_notes_and_coins_up() =>
        Given(Fill(Ferry, 40m))
            .When(CountFerry(pieces: new() { ["0.50"] = 3, ["20"] = 1, ["5"] = 0, ["10"] = 1 }))
            .Then(new CountTaken(Ferry, Holding.Cash, Eur(40m), Eur(31.50m),
                [new Pieces(Eur(20m), 1), new Pieces(Eur(10m), 1), new Pieces(Eur(0.50m), 3)], Today, "", ""));

    [Fact]
    public void A_witness_and_a_remark_are_kept_trimmed() =>
        Given().When(new RecordCount(Ferry, Holding.Cash, 0m, null, null, " partner ", " drawer by the door "))
            .Then(Count(Ferry, 0m, 0m) with { Witness = "partner", Description = "drawer by the door" });

    [Fact]
    public void An_empty_compartment_is_counted_too()
    {
        Given().When(CountFerry(0m)).Then(Count(Ferry, 0m, 0m));
        Given().When(CountFerry(pieces: [])).Then(Count(Ferry, 0m, 0m));
    }

    [Fact]
    public void What_is_expected_is_the_balance_at_the_end_of_that_day() =>
        Given(Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 5m, Sept(10)), Spend(Ferry, 7m, Sept(11)))
            .When(CountFerry(35m, on: Sept(10)))
            .Then(Count(Ferry, expected: 35m, counted: 35m, on: Sept(10)));

    [Fact]
    public void A_correction_of_a_closed_month_is_expected_from_the_day_that_it_belongs_to()
    {
        var wrong = Spend(Ferry, 5m, August(20));
        var book = Given(Fill(Ferry, 40m, August(1)), wrong,
            Reversed(FirstLine + 1, wrong, on: Sept(20), closedDay: August(20)));

        // The notes were never spent, on whatever page that is put right.
        book.When(CountFerry(40m, on: Sept(10))).Then(Count(Ferry, expected: 40m, counted: 40m, on: Sept(10)));
        book.When(CountFerry(40m, on: Sept(20))).Then(Count(Ferry, expected: 40m, counted: 40m, on: Sept(20)));
        book.When(CountFerry(40m, on: August(20))).Then(Count(Ferry, expected: 40m, counted: 40m, on: August(20)));
        book.When(CountFerry(40m, on: August(19))).Then(Count(Ferry, expected: 40m, counted: 40m, on: August(19)));
    }

    [Fact]
    public void A_correction_that_is_itself_corrected_is_not_expected()
    {
        var wrong = Spend(Ferry, 5m, August(20));
        var undone = Reversed(FirstLine + 1, wrong, on: Sept(20), closedDay: August(20));
        var restored = Spend(Ferry, 4m, Sept(21)) with { Corrects = new Correction(FirstLine + 2, August(20)) };

        Given(Fill(Ferry, 40m, August(1)), wrong, undone, restored).When(CountFerry(36m, on: Sept(10)))
            .Then(Count(Ferry, expected: 36m, counted: 36m, on: Sept(10)));
    }

    [Fact]
    public void A_correction_of_a_closed_month_that_a_count_expected_is_not_settled_as_over()
    {
        var wrong = Spend(Ferry, 5m, August(20));
        var book = Given(Fill(Ferry, 40m, August(1)), wrong,
            Reversed(FirstLine + 1, wrong, on: Sept(20), closedDay: August(20)));

        book.When(CountFerry(40m, on: Sept(10))).Then(Count(Ferry, 40m, 40m, Sept(10)))
            .When(new SettleCount(FirstLine + 3, "agreed", null)).ThenRefused("nothing-to-settle");
    }

    [Fact]
    public void A_bank_part_is_compared_with_a_statement_by_total() =>
        Given(Fill(Ferry, 40m), Fill(Ferry, 200m, holding: Holding.Bank)).When(CountFerry(199m, holding: Holding.Bank))
            .Then(Count(Ferry, 200m, 199m, holding: Holding.Bank));

    [Fact]
    public void A_bank_part_has_no_notes() =>
        Given().When(CountFerry(pieces: new() { ["20"] = 1 }, holding: Holding.Bank))
            .ThenRefused("denominations-in-bank", "denominations");

    [Fact]
    public void A_count_without_a_total_or_denominations_is_refused() =>
        Given().When(CountFerry()).ThenRefused("total-missing", "total");

    [Theory]
    [InlineData("-0.01", "total-negative")]
    [InlineData("1.005", "too-many-decimals")]
    [InlineData("10000000000", "amount-too-large")]
    public void A_total_is_zero_or_more_and_whole_in_minor_units(string total, string code) =>
        Given().When(CountFerry(decimal.Parse(total, CultureInfo.InvariantCulture))).ThenRefused(code, "total");

    [Fact]
    public void Notes_and_coins_are_those_of_the_currency()
    {
        Given().When(CountFerry(pieces: new() { ["0.25"] = 5 }))
            .ThenRefused("denomination-unknown", "denominations.0.25");
        Given().When(CountFerry(pieces: new() { ["20"] = -1 })).ThenRefused("pieces-out-of-range", "denominations.20");
        Given().When(CountFerry(pieces: new() { ["0.5"] = 1, ["0.50"] = 1 }))
            .ThenRefused("denomination-twice", "denominations.0.50");
    }

    [Fact]
    public void A_currency_whose_notes_are_not_listed_is_counted_by_total()
    {
        var book = GivenBook(
            new HouseholdDescribed("Harbour Row", "KWD", "Asia/Kuwait", DayOfWeek.Sunday),
            new WalletOpened("strongbox", "Strongbox"),
            new CompartmentOpened(Ferry, "Ferry fares", "strongbox", Purpose.Saving));

        book.When(CountFerry(pieces: new() { ["20"] = 1 })).ThenRefused("denominations-unknown", "denominations");
        book.When(CountFerry(12.345m))
            .Then(new CountTaken(Ferry, Holding.Cash, Money.Zero, new Money(12_345), [], Today, "", ""));
    }

    [Fact]
    public void A_day_and_a_compartment_are_checked_as_for_every_movement()
    {
        Given().When(CountFerry(1m, on: Sept(25))).ThenRefused("after-today", "occurredOn");
        Given(new CompartmentClosed(Ferry)).When(CountFerry(1m)).ThenRefused("compartment-closed", "compartment");
        Given().When(new RecordCount("fery", Holding.Cash, 1m, null, null, null, null))
            .ThenRefused("compartment-unknown", "compartment");
    }
}
