using CsCheck;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>One number against another.</summary>
public class SlipTests
{
    private static readonly Gen<Money> Amount =
        Gen.Select(Gen.Long[1, 99_999_999], Gen.Bool).Select((minor, isOut) => new Money(isOut ? -minor : minor));

    [Theory]
    [InlineData(1250, 1205, SlipKind.Transposition)]
    [InlineData(890, 980, SlipKind.Transposition)]
    [InlineData(-890, -980, SlipKind.Transposition)]
    [InlineData(54_321, 45_321, SlipKind.Transposition)]
    [InlineData(250, 2500, SlipKind.Slide)]
    [InlineData(250, 25, SlipKind.Slide)]
    [InlineData(250, 25_000, SlipKind.Slide)]
    [InlineData(-4000, -40, SlipKind.Slide)]
    [InlineData(840, -840, SlipKind.WrongSide)]
    [InlineData(840, 1680, SlipKind.Doubling)]
    [InlineData(-840, 0, SlipKind.Omission)]
    public void One_amount_carried_as_another_is_told_by_its_slip(long item, long carried, SlipKind kind) =>
        Assert.Equal(new Slip(kind, new Money(item), new Money(carried)),
            Slip.Between(new Money(item), new Money(carried)));

    [Theory]
    [InlineData(840, 840)]
    [InlineData(0, 840)]
    [InlineData(840, 841)]
    [InlineData(1234, 4231)]
    [InlineData(1234, -2134)]
    [InlineData(804, 84)]
    [InlineData(84, 804)]
    [InlineData(250, 250_000)]
    public void No_slip_is_seen_where_there_is_none(long item, long carried) =>
    Assert.Null(Slip.Between(new Money(item), new Money(carried)));

    // Kester, Accounting Theory and Practice, volume 1 (1917), the chapter on the trial balance.
    [Fact]
    public void What_divides_by_nine_points_to_a_transposition_or_a_slide() => Amount.Sample(carried => Assert.All(
        Slip.ItemsOf(carried).ToList(),
        slip => Assert.Equal(0, slip.Difference.Minor % 9)));

    // The arithmetic of it: figures a and b at places k + 1 and k, changed about, make 9 (a - b) 10^k of difference.
    [Fact]
    public void Two_figures_changed_about_make_nine_times_their_difference_at_their_place() =>
    Gen.Select(Gen.Int[1, 9], Gen.Int[0, 9], Gen.Int[0, 5], Gen.Int[0, 99])
        .Where(x => x.Item1 != x.Item2 && x.Item2 != 0)
        .Sample((a, b, k, before) =>
        {
            var place = (long)Math.Pow(10, k);
            var item = new Money((((before * 100L) + (a * 10) + b) * place) + (place / 7));
            var carried = new Money((((before * 100L) + (b * 10) + a) * place) + (place / 7));

            Assert.Contains(new Slip(SlipKind.Transposition, item, carried), Slip.ItemsOf(carried));
            Assert.Equal(9L * (a - b) * place, (item - carried).Minor);
        });

    [Fact]
    public void A_point_that_slid_makes_nine_or_ninety_nine_times_the_smaller_amount() =>
    Amount.Sample(carried => Assert.All(
        Slip.ItemsOf(carried).Where(s => s.Kind == SlipKind.Slide).ToList(),
        slip =>
        {
            var smaller = Math.Min(Math.Abs(slip.Item.Minor), Math.Abs(slip.Carried.Minor));
            Assert.Contains(Math.Abs(slip.Difference.Minor), new[] { 9 * smaller, 99 * smaller });
        }));

    [Fact]
    public void What_was_carried_on_the_wrong_side_is_half_the_difference_and_what_was_doubled_all_of_it() =>
    Amount.Sample(item =>
    {
        Assert.Equal(-2 * item.Minor, Slip.Between(item, -item)!.Value.Difference.Minor);
        Assert.Equal(-item, Slip.Between(item, Money.Zero)!.Value.Difference);
        Assert.Equal(item, Slip.Between(item, item + item)!.Value.Difference);
    });

    [Fact]
    public void As_many_ways_lead_from_an_amount_as_its_slips_say() => Gen.Long[1, 9_999].Sample(minor =>
    {
        var item = new Money(minor);
        var transposed = Enumerable.Range(1, 9_999)
            .Where(c => Slip.Between(item, new Money(c)) is { Kind: SlipKind.Transposition }).ToList();

        Assert.All(transposed, carried =>
            Assert.Equal(transposed.Count, Slip.Between(item, new Money(carried))!.Value.Ways));
    }, iter: 10);
}
