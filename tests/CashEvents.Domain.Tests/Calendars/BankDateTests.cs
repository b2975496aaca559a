using CsCheck;

namespace CashEvents.Domain.Tests.Calendars;

public class BankDateTests
{
    // The end of 2026: Christmas Day is a Friday.
    private static readonly QuayCalendar _quay = new((Dec(25), "Christmas Day"), (Dec(26), "Saint Stephen's Day"),
        (Dec(28), "Day of the boats"));

    private static DateOnly Dec(int day) => new(2026, 12, day);

    [Fact]
    public void On_a_bank_day_money_moves_that_day()
    {
        var due = BankDate.Of(Dec(24), NotBankDay.Next, _quay);

        Assert.Equal((Dec(24), Dec(24)), (due.Nominal, due.Day));
        Assert.Empty(due.Closed);
    }

    [Fact]
    public void Else_it_moves_on_the_bank_day_before_or_after_and_the_days_between_say_why()
    {
        var after = BankDate.Of(Dec(25), NotBankDay.Next, _quay);
        var before = BankDate.Of(Dec(28), NotBankDay.Previous, _quay);

        Assert.Equal(Dec(29), after.Day);
        Assert.Equal([new(Dec(25), "Christmas Day"), new(Dec(26), "Saturday"), new(Dec(27), "Sunday"),
            new ClosedDay(Dec(28), "Day of the boats")], after.Closed);
        Assert.Equal(Dec(24), before.Day);
        Assert.Equal([Dec(28), Dec(27), Dec(26), Dec(25)], before.Closed.Select(c => c.Day));
    }

    [Fact]
    public void A_stretch_has_the_days_on_which_money_moves_in_it_wherever_their_nominal_day_lies()
    {
        var sundays = new Recurrence("7", Dec(6));

        Assert.Equal([Dec(7), Dec(14)],
            BankDate.Between(Dec(7), Dec(18), sundays, NotBankDay.Next, _quay).Select(d => d.Day));
        Assert.Equal([Dec(11), Dec(18)],
            BankDate.Between(Dec(7), Dec(18), sundays, NotBankDay.Previous, _quay).Select(d => d.Day));
    }

    [Fact]
    public void Stretches_one_after_another_have_each_day_once() =>
        Gen.Select(Gen.Int[0, 300], Gen.Int[0, 300], Gen.Int[1, 40], Gen.Enum<NotBankDay>())
            .Sample((start, cut, every, notBankDay) =>
        {
            var recurrence = new Recurrence($"{every}", Dec(1).AddDays(start - 150));
            List<DateOnly> Days(DateOnly first, DateOnly last) =>
                [.. BankDate.Between(first, last, recurrence, notBankDay, _quay).Select(d => d.Nominal)];

            Assert.Equal(Days(Dec(1), Dec(1).AddDays(400)),
                [.. Days(Dec(1), Dec(1).AddDays(cut)), .. Days(Dec(1).AddDays(cut + 1), Dec(1).AddDays(400))]);
        });
}
