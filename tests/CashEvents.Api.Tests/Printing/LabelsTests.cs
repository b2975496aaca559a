using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Printing;

public sealed class LabelsTests
{
    [Theory]
    [InlineData("10 30 50", "10 30 50")]
    [InlineData("10 11 50", "10 14 50")]
    [InlineData("50 50 50", "42 46 50")]
    [InlineData("0 1 2", "3 7 11")]
    [InlineData("", "")]
    public void Labels_stand_where_their_lines_end_or_as_near_as_they_can(string wanted, string placed) =>
        Assert.Equal(Numbers(placed), Labels.Spread(Numbers(wanted), gap: 4, top: 3, bottom: 50));

    [Fact]
    public void No_two_labels_are_nearer_than_the_gap_and_their_order_is_that_of_the_lines() =>
        Gen.Int[0, 60].Select(i => (decimal)i).List[1, 20].Sample(wanted =>
        {
            var placed = Labels.Spread(wanted, gap: 4, top: 3, bottom: 50);

            var inOrder = wanted.Zip(placed, (want, at) => (want, at)).OrderBy(l => l.want).ThenBy(l => l.at)
                .Select(l => l.at).ToList();
            Assert.All(inOrder.Zip(inOrder.Skip(1)), pair => Assert.True(pair.Second - pair.First >= 4));
            Assert.All(placed, at => Assert.InRange(at, 3, Math.Max(50, 3 + (4 * (wanted.Count - 1)))));
        });

    [Theory]
    [InlineData("Ferry fares", 11, "Ferry fares")]
    [InlineData("Ferry fares", 10, "Ferry far…")]
    [InlineData("Ferry fares", 7, "Ferry…")]
    [InlineData("배편", 4, "배편")]
    [InlineData("배편 삯", 5, "배편…")]
    [InlineData("⛴🛶", 3, "⛴…")]
    public void A_long_name_is_cut_with_an_ellipsis(string name, int letters, string cut) =>
    Assert.Equal(cut, Labels.Cut(name, letters));

    private static decimal[] Numbers(string written) =>
        [.. written.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(decimal.Parse)];
}
