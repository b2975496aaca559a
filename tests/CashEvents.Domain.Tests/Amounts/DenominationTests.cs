namespace CashEvents.Domain.Tests.Amounts;

public class DenominationTests
{
    private static readonly Currency Euro = Currency.Of("EUR");

    /// <summary>Source: Bureau of Engraving and Printing, the seven notes it prints.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(5)]
    [InlineData(10)]
    [InlineData(20)]
    [InlineData(50)]
    [InlineData(100)]
    public void The_United_States_notes_are_listed(int note) =>
    Assert.Contains(note, Denominations.Of(Currency.Of("USD")));

    /// <summary>Source: European Central Bank, the Europa series of notes.</summary>
    [Theory]
    [InlineData(5)]
    [InlineData(10)]
    [InlineData(20)]
    [InlineData(50)]
    [InlineData(100)]
    [InlineData(200)]
    public void The_euro_notes_are_listed(int note) => Assert.Contains(note, Denominations.Of(Euro));

    [Fact]
    public void Every_listed_value_is_whole_in_minor_units_and_largest_first() =>
        Assert.All(Currency.All, currency =>
        {
            var values = Denominations.Of(currency);
            Assert.All(values, value =>
                Assert.Equal(value * currency.ToMinor, decimal.Truncate(value * currency.ToMinor)));
            Assert.Equal(values.OrderDescending().Distinct(), values);
        });

    [Fact]
    public void A_count_is_read_largest_first_and_without_the_empty_values() =>
        Assert.Equal(
            [new Pieces(new Money(2_000), 3), new Pieces(new Money(50), 1), new Pieces(new Money(2), 4)],
            Denominations.Read(Euro, new Dictionary<string, long> { ["0.02"] = 4, ["20"] = 3, ["5"] = 0, ["0.5"] = 1 },
                "denominations"));

    [Fact]
    public void Pieces_are_worth_their_values_together() =>
        Assert.Equal(new Money(6_058),
            Denominations.Total([new Pieces(new Money(2_000), 3), new Pieces(new Money(50), 1),
                new Pieces(new Money(2), 4)]));

    [Theory]
    [InlineData("3")]
    [InlineData("0.03")]
    [InlineData("-20")]
    [InlineData("1e1")]
    [InlineData("1,000")]
    [InlineData(" 20")]
    [InlineData("twenty")]
    [InlineData("")]
    public void A_value_that_the_currency_has_not_is_refused(string value)
    {
        var refusal = Refused(Euro, new() { [value] = 1 });

        Assert.Equal(("denomination-unknown", $"denominations.{value}"), (refusal.Code, refusal.Field));
        Assert.Contains("500, 200, 100, 50, 20, 10, 5, 2, 1, 0.5", refusal.Detail);
    }

    [Fact]
    public void A_value_written_in_two_ways_is_refused() =>
        Assert.Equal("denomination-twice", Refused(Euro, new() { ["0.5"] = 1, ["0.50"] = 2 }).Code);

    [Theory]
    [InlineData(-1)]
    [InlineData(1_000_001)]
    [InlineData(long.MaxValue)]
    public void The_number_of_pieces_has_its_bounds(long pieces) =>
        Assert.Equal("pieces-out-of-range", Refused(Euro, new() { ["20"] = pieces }).Code);

    [Fact]
    public void A_million_pieces_of_a_value_are_read() =>
        Assert.Equal(new Money(2_000_000_000),
            Denominations.Total(Denominations.Read(Euro, new Dictionary<string, long> { ["20"] = 1_000_000 },
                "denominations")));

    [Fact]
    public void A_currency_whose_notes_are_not_listed_is_counted_by_total()
    {
        var refusal = Refused(Currency.Of("KWD"), new() { ["20"] = 1 });

        Assert.Equal(("denominations-unknown", "denominations"), (refusal.Code, refusal.Field));
        Assert.Contains("`total`", refusal.Detail);
    }

    private static Refusal Refused(Currency currency, Dictionary<string, long> written) =>
        Assert.Throws<RefusalException>(() => Denominations.Read(currency, written, "denominations")).Refusal;
}
