using System.Globalization;
using CsCheck;
using Xunit;

namespace CashEvents.Cash.Tests.Amounts;

/// <summary>Amounts as people type them: read to the cent, or refused where they could be two things.</summary>
public sealed class FiguresTests
{
    private static readonly string[] _cultures = ["en-IE", "de-DE", "fr-CH", "sv-SE", ""];

    [Theory]
    [InlineData("4.20", "4.20")]
    [InlineData("4,20", "4.20")]
    [InlineData("4", "4")]
    [InlineData("4,2", "4.2")]
    [InlineData(".50", "0.50")]
    [InlineData("0.500", "0.500")]
    [InlineData("0,125", "0.125")]
    [InlineData("1234.500", "1234.500")]
    [InlineData("1.2340", "1.2340")]
    [InlineData("1,234.50", "1234.50")]
    [InlineData("1.234,50", "1234.50")]
    [InlineData("1.234,567", "1234.567")]
    [InlineData("1 234,50", "1234.50")]
    [InlineData("1'234.50", "1234.50")]
    [InlineData("1.234.567", "1234567")]
    [InlineData("999999999999.99", "999999999999.99")]
    public void What_can_be_only_one_amount_is_read(string written, string amount)
    {
        Assert.Equal(decimal.Parse(amount, CultureInfo.InvariantCulture), Figures.Read(written, out var fault));
        Assert.Null(fault);
    }

    [Theory]
    [InlineData("1.234")]
    [InlineData("1,234")]
    [InlineData("12.345")]
    [InlineData("999,999")]
    public void What_could_be_two_is_refused_with_both(string written)
    {
        Figures.Read(written, out var fault);

        Assert.Contains("could be", fault, StringComparison.Ordinal);
        Assert.All(fault!.Split(" Write ")[1].TrimEnd('.').Split(" or "), mend =>
        {
            Figures.Read(mend, out var other);
            Assert.Null(other);
        });
    }

    [Theory]
    [InlineData("")]
    [InlineData(".")]
    [InlineData("4.")]
    [InlineData("-4.20")]
    [InlineData("+4.20")]
    [InlineData("4.20 EUR")]
    [InlineData("1e3")]
    [InlineData("1,23,456")]
    [InlineData("1.23.4")]
    [InlineData("1.2,3.4")]
    [InlineData("1,2,3")]
    [InlineData("٤.٢٠")]
    [InlineData("99999999999999999999999999999999")]
    public void What_is_no_amount_is_refused(string written)
    {
        Figures.Read(written, out var fault);

        Assert.NotNull(fault);
    }

    [Fact]
    public void What_is_written_for_people_is_read_back_to_the_cent() =>
        Gen.Select(Gen.Long[0, 99_999_999_999_999], Gen.Int[0, _cultures.Length - 1])
            .Sample((cents, culture) =>
            {
                var figures = new Figures(CultureInfo.GetCultureInfo(_cultures[culture]));
                var amount = new decimal(cents) / 100 * 1.00m;
                var read = Figures.Read(figures.Write(decimal.Round(amount, 2)), out var fault);
                return fault is null && read == amount;
            });

    [Fact]
    public void Pieces_are_told_by_face_value_and_an_amount_stands_alone()
    {
        var found = Found.Read(["20x1", "5x2", "0,50x3"]);

        Assert.Equal([("20", 1), ("5", 2), ("0.50", 3)], found.Pieces.Select(piece => (piece.Key, piece.Value)));
        Assert.Null(found.Bare);
        Assert.Equal(33.5m, Found.Read(["33.50"]).Bare);
    }

    [Theory]
    [InlineData("20x1", "20x2")]
    [InlineData("20x1", "3.50")]
    [InlineData("3.50", "4.50")]
    [InlineData("20x")]
    [InlineData("20x1x2")]
    [InlineData("twenty")]
    public void A_count_that_could_be_read_in_two_ways_is_refused(params string[] written) =>
        Assert.Equal(ExitCode.Usage, Assert.Throws<NotDoneException>(() => Found.Read(written)).ExitCode);
}
