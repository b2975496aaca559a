using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Printing;

public sealed class ScaleTests
{
    // The first two are the examples of P. Heckbert, "Nice numbers for graph labels", Graphics Gems, 1990, page 61,
    // drawn with his five marks.
    [Theory]
    [InlineData("105", "543", "100", "600", "100")]
    [InlineData("2.04", "2.16", "2.00", "2.20", "0.05")]
    [InlineData("0", "195", "0", "200", "50")]
    [InlineData("-3.20", "84.50", "-20", "100", "20")]
    [InlineData("0", "0", "0", "1.0", "0.2")]
    [InlineData("0", "9999999999.99", "0", "10000000000", "2000000000")]
    [InlineData("0", "0.01", "0", "0.01", "0.002")]
    public void Marks_are_one_two_or_five_times_a_power_of_ten_apart(string least, string greatest, string low,
        string high, string step)
    {
        var scale = Scale.Of(Number(least), Number(greatest), 5);

        Assert.Equal((Number(low), Number(high), Number(step)), (scale.Low, scale.High, scale.Step));
    }

    [Fact]
    public void Every_value_lies_between_the_first_mark_and_the_last_and_marks_are_neither_few_nor_many() =>
        Gen.Select(Gen.Long[-99_999_999, 999_999_999_999], Gen.Long[0, 999_999_999_999]).Sample((a, length) =>
        {
            var (least, greatest) = (a / 100m, (a + length) / 100m);
            var scale = Scale.Of(least, greatest, 5);
            var marks = scale.Marks.ToList();

            Assert.InRange(scale.Share(least), 0, 1);
            Assert.InRange(scale.Share(greatest), 0, 1);
            Assert.InRange(marks.Count, 2, 12);
            Assert.Equal((scale.Low, scale.High), (marks[0], marks[^1]));
            Assert.All(marks, mark => Assert.Equal(0, mark % scale.Step));
        });

    [Fact]
    public void Balances_and_spending_are_shown_from_zero() =>
        Assert.Equal((0m, 100m), (Scale.FromZero([80, 95], 5).Low, Scale.FromZero([80, 95], 5).High));

    private static decimal Number(string written) => decimal.Parse(written);
}
