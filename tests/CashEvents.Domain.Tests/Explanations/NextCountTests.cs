using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>
/// Which count would decide best: the one whose outcome is least certain, by Shannon's entropy (1948). A chance of a
/// half is one bit, three quarters 0.811, nine tenths 0.469.
/// </summary>
public class NextCountTests
{
    private static readonly Told _told = Told.Of(Fill(Ferry, 100m, Sept(1)), Count(Ferry, 0m, 90m));

    [Theory]
    // 0.0938 and 0.1063 bits.
    [InlineData(0.012, false)]
    [InlineData(0.014, true)]
    [InlineData(0.986, true)]
    [InlineData(0.988, false)]
    [InlineData(1.0, false)]
    public void A_tenth_of_a_bit_is_worth_a_count(double chance, bool asked) =>
        Assert.Equal(asked, Best((Moved(Market, 10m), (decimal)chance)) is not null);

    [Fact]
    public void The_least_certain_outcome_is_asked_for()
    {
        Assert.Equal(Cash(Market), Best((Moved(Market, 10m), 0.45m), (Moved(Van, 10m), 0.25m))!.Place);
        Assert.Equal(Cash(Van), Best((Moved(Market, 10m), 0.9m), (Moved(Van, 10m), 0.25m))!.Place);
        // 0.2, 0.2 and 0.6 are 1.37 bits, 0.45 and 0.55 are 0.99.
        Assert.Equal(Cash(Van), Best((Moved(Market, 10m), 0.45m), (Moved(Van, 10m), 0.2m), (Moved(Van, 9m), 0.2m))!
            .Place);
        // Of two that the count would find alike it tells nothing: 0.05 and 0.05 are as 0.1, 0.47 bits and not 0.57.
        Assert.Equal(Cash(Van), Best((Moved(Market, 10m), 0.05m), (Moved(Market, 10m), 0.05m),
            (Moved(Van, 10m), 0.12m))!.Place);
        Assert.Equal(Cash(Boat), Best((Moved(Market, 10m), 0.3m), (Moved(Boat, 10m), 0.3m))!.Place);
        Assert.Null(Best());
    }

    [Fact]
    public void The_count_itself_is_asked_for_once_more_where_it_may_be_wrong()
    {
        var asked = _told.Lines[^1];
        var missed = new Miscounted(asked.Number, (CountTaken)asked.Event, Money.Zero, Eur(10m));

        Assert.Equal(Cash(Ferry), Best((missed, 0.5m), (Moved(Market, 10m), 0.3m))!.Place);
        // What is missing here only is found by no other count.
        Assert.Null(Best((new NotRecorded(Spend(Ferry, 10m), 0, null), 0.5m)));
    }

    [Fact]
    public void What_the_likeliest_outcome_is_is_said()
    {
        Assert.Contains("over by 10", Best((Moved(Market, 10m), 0.4m), (Moved(Market, 9m), 0.3m))!.Says,
            StringComparison.Ordinal);
        Assert.Contains("short by 9", Best((Moved(Market, 10m), 0.3m), (Moved(Market, -9m), 0.4m))!.Says,
            StringComparison.Ordinal);
    }

    private static NotRecorded Moved(string to, decimal amount) => new(amount > 0m
        ? Transfer(Cash(Ferry), Cash(to), amount) : Transfer(Cash(to), Cash(Ferry), -amount), 0, null);

    private static NextCount? Best(params (Mistake Mistake, decimal Chance)[] causes)
    {
        var at = new LookedAt(_told.Book, _told.Lines, _told.Book.CashCount(Ferry)!, Today);
        return NextCount.Best(at.Book, at.Counted, at.Counted.Single(),
            [.. causes.Select(c => (new Cause([c.Mistake], 1m), c.Chance))]);
    }
}
