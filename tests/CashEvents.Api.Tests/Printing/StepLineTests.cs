using Xunit;

namespace CashEvents.Api.Tests.Printing;

public sealed class StepLineTests
{
    private static readonly DateOnly First = new(2026, 11, 1);

    [Fact]
    public void A_line_steps_in_the_middle_of_each_day_that_changes_the_balance()
    {
        var line = new StepLine(1, "Ferry fares", 12.40m,
            [new DayBalance(First, 72.40m), new DayBalance(First.AddDays(2), 64.00m)]);

        Assert.Equal("M0 12.4 H5 V72.4 H25 V64 H300",
            line.Path(First, new DateOnly(2026, 11, 30), days => days * 10, balance => balance));
    }

    [Fact]
    public void A_balance_that_nothing_changes_is_a_straight_line_to_the_last_day_drawn()
    {
        var line = new StepLine(1, "Rainy day", 30.00m, []);

        Assert.Equal("M0 30 H140", line.Path(First, new DateOnly(2026, 11, 14), days => days * 10, balance => balance));
        Assert.Equal((30.00m, 30.00m), (line.Closing, line.Balances.Single()));
    }
}
