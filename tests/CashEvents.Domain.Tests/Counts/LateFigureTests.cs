using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

/// <summary>Whoever writes a figure down late gets what writing it at once would have given.</summary>
public class LateFigureTests
{
    private static readonly Gen<IMovement> _movement =
        Gen.Select(Gen.Int[0, 3], Gen.Int[1, 900], Gen.Int[20, 24]).Select(IMovement (kind, cents, day) => kind switch
    {
        0 => Fill(Ferry, cents / 100m, Sept(day)),
        1 => Spend(Ferry, cents / 100m, Sept(day)),
        2 => Transfer(Cash(Ferry), Cash(Market), cents / 100m, Sept(day)),
        _ => Fill(Ferry, cents / 100m, Sept(day), Holding.Bank),
    });

    // A step writes a movement, or undoes an earlier one: which, and whether its month is closed by then.
    private static readonly Gen<(IMovement Movement, int Undoes, bool InClosedMonth)[]> _steps =
        Gen.Select(_movement, Gen.Int[-4, 8], Gen.Bool,
            (movement, undoes, closed) => (movement, undoes, closed)).Array[0, 12];

    [Fact]
    public void A_figure_written_late_expects_what_it_would_have_expected_at_once() =>
        Gen.Select(_steps, _steps, Gen.Int[22, 24], Gen.Int[0, 90_00]).Sample((before, after, day, cents) =>
        {
            var book = Given(Fill(Ferry, 500m, Sept(1)), new CountRoundOpened([Ferry, Market], null, null, false)).Book;
            var round = book.Line;
            var written = new List<(long Line, IMovement Movement)>();
            book = Write(before, book, written);
            var figure = new RecordCount(Ferry, Holding.Cash, cents / 100m, null, Sept(day), null, null);

            var late = Write(after, book, [.. written])
                .Decide(new CountInRound(round, figure, book.Line, "keeper"), Today).After;
            var atOnce = Write(after, book.Decide(new CountInRound(round, figure, null, "keeper"), Today).After,
                written);

            var (counted, expected) = (late.CashCount(Ferry)!, atOnce.CashCount(Ferry)!);
            Assert.Equal((expected.Expected, expected.Counted, expected.OccurredOn, expected.AtLine),
                (counted.Expected, counted.Counted, counted.OccurredOn, counted.AtLine));
            Assert.Equal(atOnce.Compartments[Ferry].Cash, late.Compartments[Ferry].Cash);
        });

    [Theory]
    [InlineData(24, true)]
    [InlineData(23, false)]
    public void Cash_that_moved_after_the_count_is_known_by_its_own_day_when_the_figure_is_written_late(int moved,
        bool untouchedThatDay)
    {
        var book = Given(Fill(Ferry, 40m, Sept(1)), new CountRoundOpened([Ferry], null, null, false)).Book;

        var late = book.Apply(Spend(Ferry, 5m, Sept(moved)))
            .Decide(new CountInRound(book.Line, new RecordCount(Ferry, Holding.Cash, 40m, null, Sept(23), null, null),
                book.Line, "keeper"), Today).After;

        Assert.Equal(untouchedThatDay, late.CashCount(Ferry)!.MovedSince > Sept(23));
        Assert.Equal(Sept(moved), late.CashCount(Ferry)!.MovedSince);
    }

    private static Book Write((IMovement Movement, int Undoes, bool InClosedMonth)[] steps, Book book,
        List<(long Line, IMovement Movement)> written)
    {
        foreach (var (movement, undoes, inClosedMonth) in steps)
        {
            var line = movement;
            if (undoes >= 0 && undoes < written.Count && book.Corrections.By(written[undoes].Line) is null)
            {
                var undone = written[undoes];
                line = Reversed(undone.Line, undone.Movement, on: inClosedMonth ? Today : null,
                    closedDay: inClosedMonth ? undone.Movement.OccurredOn : null);
            }

            book = book.Apply(line);
            if (line is not Domain.Movements.Reversed)
            {
                written.Add((book.Line, line));
            }
        }

        return book;
    }
}
