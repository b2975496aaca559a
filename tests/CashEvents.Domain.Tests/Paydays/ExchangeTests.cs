using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Paydays;

public class ExchangeTests
{
    private static readonly Dictionary<string, long> _twenty = new() { ["20"] = 1 };
    private static readonly Dictionary<string, long> _small = new() { ["10"] = 1, ["5"] = 2 };

    private static RecordExchange Exchange(
        Dictionary<string, long>? gives = null, Dictionary<string, long>? takes = null, string with = Market,
        DateOnly? on = null, string? description = null) =>
        new(Ferry, with, gives ?? _twenty, takes ?? _small, on, description);

    private static NotesExchanged Exchanged(DateOnly? on = null) =>
        new(Ferry, Market, [new Pieces(Eur(20m), 1)], [new Pieces(Eur(10m), 1), new Pieces(Eur(5m), 2)], on ?? Today,
            "");

    private static CountTaken CountIn(string compartment, DateOnly on, params (decimal Value, int Count)[] pieces)
    {
        var found = pieces.Select(p => new Pieces(Eur(p.Value), p.Count)).ToList();
        return new CountTaken(compartment, Domain.Books.Holding.Cash, Denominations.Total(found),
            Denominations.Total(found), [.. found], on, "", "");
    }

    private static (decimal Value, int Count)[]? Known(Book book, string compartment) =>
        book.NotesOf(compartment)?.Pieces.Select(p => (book.Currency.ToDecimal(p.Value), p.Count)).ToArray();

    [Fact]
    public void Two_compartments_exchange_notes_and_no_balance_changes()
    {
        var asked = Given(Fill(Ferry, 40m), Fill(Market, 60m)).When(Exchange(description: " small notes "));

        asked.Then(Exchanged() with { Description = "small notes" });
        asked.ThenHolds((Cash(Ferry), 40m), (Cash(Market), 60m));
    }

    [Fact]
    public void What_is_given_and_taken_is_of_equal_worth() =>
        Assert.Contains("transfer",
            Given(Fill(Ferry, 40m), Fill(Market, 60m)).When(Exchange(takes: new() { ["5"] = 3 }))
                .ThenRefused("exchange-unequal", "takes").Detail, StringComparison.Ordinal);

    [Fact]
    public void An_exchange_of_nothing_is_refused() =>
        Given(Fill(Ferry, 40m), Fill(Market, 60m)).When(Exchange(new() { ["20"] = 0 }, []))
            .ThenRefused("exchange-empty", "gives");

    [Fact]
    public void A_compartment_does_not_exchange_with_itself() =>
    Given(Fill(Ferry, 40m)).When(Exchange(with: Ferry)).ThenRefused("same-compartment", "with");

    [Fact]
    public void A_note_that_the_currency_does_not_have_is_refused() =>
    Given(Fill(Ferry, 40m), Fill(Market, 60m)).When(Exchange(new() { ["25"] = 1 }))
        .ThenRefused("denomination-unknown", "gives.25");

    [Fact]
    public void Each_compartment_must_hold_as_much_as_it_gives()
    {
        Given(Fill(Ferry, 19.99m), Fill(Market, 60m)).When(Exchange()).ThenRefused("not-enough", "gives");
        Given(Fill(Ferry, 40m), Fill(Market, 19.99m)).When(Exchange()).ThenRefused("not-enough", "takes");
    }

    [Fact]
    public void Notes_are_known_from_a_count_through_exchanges()
    {
        var after = Given(Fill(Ferry, 40m), Fill(Market, 60m), CountIn(Ferry, Today, (20m, 2)),
            CountIn(Market, Today, (10m, 5), (5m, 2)))
            .When(Exchange())
            .Then(Exchanged());

        Assert.Equal([(20m, 1), (10m, 1), (5m, 2)], Known(after.Book, Ferry)!);
        Assert.Equal([(20m, 1), (10m, 4)], Known(after.Book, Market)!);
        Assert.Contains("lacks 2 of 5.00 EUR",
            after.When(Exchange(_small, _twenty) with { Compartment = Market, With = Ferry })
                .ThenRefused("notes-not-there", "gives").Detail, StringComparison.Ordinal);
        after.When(Exchange(_small, _twenty))
            .Then(new NotesExchanged(Ferry, Market, [new Pieces(Eur(10m), 1), new Pieces(Eur(5m), 2)],
                [new Pieces(Eur(20m), 1)], Today, ""));
    }

    [Fact]
    public void Known_notes_that_are_not_there_can_not_be_given() =>
        Given(Fill(Ferry, 40m), Fill(Market, 60m), CountIn(Ferry, Today, (10m, 4))).When(Exchange())
            .ThenRefused("notes-not-there", "gives");

    [Fact]
    public void Notes_are_not_known_once_other_cash_came_or_went()
    {
        Assert.Null(Known(Given(Fill(Ferry, 40m), CountIn(Ferry, Today, (20m, 2)), Spend(Ferry, 20m)).Book, Ferry));
        Assert.Null(Known(Given(Fill(Ferry, 40m), CountIn(Ferry, Today, (20m, 2)),
            Transfer(Cash(Ferry), Cash(Market), 20m)).Book, Ferry));
        Assert.Null(Known(Given(Fill(Ferry, 40m), CountIn(Ferry, Today, (20m, 2)), Count(Ferry, 40m, 40m)).Book,
            Ferry));
    }

    [Fact]
    public void Notes_stay_known_when_what_moved_was_not_in_the_compartment_or_before_the_count()
    {
        var count = CountIn(Ferry, Today, (20m, 2));
        Assert.NotNull(Known(Given(Fill(Ferry, 40m), count, Fill(Market, 20m)).Book, Ferry));
        Assert.NotNull(Known(Given(Fill(Ferry, 40m), count, Fill(Ferry, 20m, holding: Domain.Books.Holding.Bank)).Book,
            Ferry));
        Assert.NotNull(Known(Given(Fill(Ferry, 40m, Sept(1)), count, Spend(Ferry, 1m, Sept(2))).Book, Ferry));
        Assert.NotNull(Known(Given(Fill(Ferry, 39m), count, Settle(FirstLine + 1, Ferry, 1m)).Book, Ferry));
    }

    [Fact]
    public void A_count_of_a_day_after_which_cash_moved_does_not_say_what_is_there_now()
    {
        Assert.Null(Known(Given(Fill(Ferry, 60m, Sept(1)), Spend(Ferry, 20m, Sept(20)),
            CountIn(Ferry, Sept(10), (20m, 3))).Book, Ferry));
        Assert.NotNull(Known(Given(Fill(Ferry, 60m, Sept(1)), Spend(Ferry, 20m, Sept(10)),
            CountIn(Ferry, Sept(10), (20m, 2))).Book, Ferry));
    }

    [Fact]
    public void An_empty_compartment_that_was_counted_is_known_to_have_no_notes() =>
    Assert.Equal([], Known(Given(Count(Ferry, 0m, 0m)).Book, Ferry)!);

    [Fact]
    public void An_exchange_before_the_count_leaves_what_was_counted()
    {
        var after = Given(Fill(Ferry, 40m, Sept(1)), Fill(Market, 60m, Sept(1)), CountIn(Ferry, Sept(20), (10m, 4)))
            .When(Exchange(on: Sept(10))).Then(Exchanged(Sept(10)));

        Assert.Equal([(10m, 4)], Known(after.Book, Ferry)!);
    }

    [Fact]
    public void However_often_notes_are_exchanged_those_known_are_worth_what_was_counted()
    {
        string[] values = ["20", "10", "5"];
        var sides = Gen.Int[0, 2].Array[3];
        Gen.Select(sides, sides, Gen.Bool).Array[1, 12].Sample(exchanges =>
        {
            var book = Given(Fill(Ferry, 70m), Fill(Market, 70m), CountIn(Ferry, Today, (20m, 2), (10m, 2), (5m, 2)),
                CountIn(Market, Today, (20m, 1), (10m, 3), (5m, 4))).Book;
            foreach (var (gives, takes, turned) in exchanges)
            {
                Dictionary<string, long> Some(int[] counts) =>
                    values.Zip(counts).ToDictionary(p => p.First, p => (long)p.Second);
                var exchange = Exchange(Some(gives), Some(takes));
                try
                {
                    book = book.Decide(turned ? exchange with { Compartment = Market, With = Ferry } : exchange,
                        Today).After;
                }
                catch (RefusalException refused)
                {
                    Assert.Contains(refused.Refusal.Code,
                        (string[])["exchange-unequal", "exchange-empty", "notes-not-there", "not-enough"]);
                }

                var (ferry, market) = (book.NotesOf(Ferry)!.Pieces, book.NotesOf(Market)!.Pieces);
                Assert.Equal((Eur(70m), Eur(70m)), (Denominations.Total(ferry), Denominations.Total(market)));
                Assert.All(ferry.Concat(market), p => Assert.True(p.Count > 0));
                Assert.Equal([3, 5, 6], values.Select(
                    v => ferry.Concat(market)
                        .Where(p => p.Value == Eur(decimal.Parse(v, System.Globalization.CultureInfo.InvariantCulture)))
                        .Sum(p => p.Count)));
            }
        });
    }
}
