using CsCheck;

namespace CashEvents.Domain.Tests.Amounts;

public class LargestRemainderTests
{
    // The method is Hamilton's of 1792 for seats of a house. Worked example: electowiki, "Hamilton method" (populations
    // of 1790, 60 seats).
    [Fact]
    public void Sixty_seats_fall_to_the_states_of_1790_as_in_the_worked_example()
    {
        long[] people = [630_560, 475_327, 432_879, 353_523, 331_589, 278_514, 236_841, 206_236, 179_570, 141_822,
            85_533, 70_835, 68_705, 68_446, 55_540];

        Assert.Equal([11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1],
            LargestRemainder.Share(new Money(60), people).Select(s => s.Minor));
    }

    [Fact]
    public void Of_equal_remainders_the_earlier_part_gets_the_odd_unit() =>
        Assert.Equal([2, 2, 1, 1, 1, 1, 1],
            LargestRemainder.Share(new Money(9), [1, 1, 1, 1, 1, 1, 1]).Select(s => s.Minor));

    [Fact]
    public void Shares_add_up_and_none_is_a_whole_unit_off() =>
        Gen.Select(Gen.Long[0, Money.Largest.Minor], Gen.Long[0, 31].Array[1, 7].Where(parts => parts.Sum() > 0))
            .Sample((amount, parts) =>
        {
            var shares = LargestRemainder.Share(new Money(amount), parts);

            Assert.Equal(amount, shares.Sum(s => s.Minor));
            Assert.All(shares.Zip(parts),
                s => Assert.True(decimal.Abs(s.First.Minor - ((decimal)amount * s.Second / parts.Sum())) < 1m));
        });
}
