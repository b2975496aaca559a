using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Months;

public class TrailTests
{
    private static readonly Month September = Month.Read("2026-09")!.Value;

    // Each line recorded at noon (UTC) of the day given, by the key given.
    private static Trail Draw(params (IBookEvent Line, string By, DateOnly RecordedOn)[] written)
    {
        var all = Opening.Select(l => (Line: l, By: "setup", RecordedOn: Sept(1))).Concat(written).ToList();
        var book = all.Aggregate(Book.Empty, (b, l) => b.Apply(l.Line));
        var lines = all.Select((l, i) =>
            new BookLine(i + 1, i + 1, new DateTimeOffset(l.RecordedOn, new TimeOnly(12, 0), TimeSpan.Zero), l.By,
                l.Line))
            .Where(l => l.Event is IDatedEvent dated && Month.Of(dated.OccurredOn) == September)
            .OrderBy(l => ((IDatedEvent)l.Event).OccurredOn).ThenBy(l => l.Number)
            .ToList();
        return Trail.Of(September, book, On(book, September.First.AddDays(-1)), On(book, September.Last), lines, null);
    }

    private static Dictionary<Part, Money> On(Book book, DateOnly day) =>
        book.Days.Keys.ToDictionary(part => part, part => book.BalanceOn(part, day));

    private static (IBookEvent, string, DateOnly) By(string key, IBookEvent line, int? recordedOn = null) =>
        (line, key, recordedOn is { } day ? Sept(day) : ((IDatedEvent)line).OccurredOn);

    private static Money In(Trail trail, Part part, Column column) =>
        trail.Rows.Single(r => r.Place == part).In(column);

    [Fact]
    public void A_compartment_that_is_closed_since_has_a_row_where_anything_is_said_of_it()
    {
        var trail = Draw(
            By("keeper", new HandedOver(Van, "partner", Eur(4m), Sept(2), "")),
            By("keeper", new CompartmentClosed(Van), recordedOn: 3));

        Assert.Contains(trail.Rows, row => row.Place == Cash(Van));
        Assert.DoesNotContain(Draw(By("keeper", new CompartmentClosed(Van), recordedOn: 3)).Rows,
            row => row.Place == Cash(Van));
    }

    [Fact]
    public void Openings_and_columns_lead_to_the_closings()
    {
        var trail = Draw(
            By("keeper", Fill(Ferry, 30m, new DateOnly(2026, 8, 20))),
            By("keeper", Fill(Ferry, 40m, Sept(1))),
            By("partner", Spend(Ferry, 12.50m, Sept(3))),
            By("partner", Refund(Ferry, 2.50m, Sept(4))),
            By("keeper", Transfer(Cash(Ferry), Cash(Market), 10m, Sept(5))),
            By("keeper", Transfer(Cash(Ferry), Bank(Ferry), 15m, Sept(6))),
            By("keeper", Sweep(Cash(Market), Cash(Boat), 4m, Sept(30))),
            By("keeper", Fill(Ferry, 99m, new DateOnly(2026, 10, 1))));

        var ferry = trail.Rows.Single(r => r.Place == Cash(Ferry));
        Assert.Equal((Eur(30m), Eur(35m)), (ferry.Opening, ferry.Closing));
        Assert.Equal(
            [(Column.Filled, Eur(40m)), (Column.Spent, Eur(-12.50m)), (Column.Refunded, Eur(2.50m)),
                (Column.MovedOut, Eur(-10m)), (Column.HoldingOut, Eur(-15m))],
            ferry.Changes.Select(c => (c.Key, c.Value)));
        Assert.Equal(Eur(15m), In(trail, Bank(Ferry), Column.HoldingIn));
        Assert.Equal((Eur(10m), Eur(-4m)),
            (In(trail, Cash(Market), Column.MovedIn), In(trail, Cash(Market), Column.SweptOut)));
        Assert.Equal(Eur(4m), In(trail, Cash(Boat), Column.SweptIn));
        Assert.All(trail.Rows, row =>
            Assert.Equal(row.Closing, row.Changes.Values.Aggregate(row.Opening, (sum, change) => sum + change)));
        Assert.Equal(Money.Zero, trail.Difference);
    }

    [Fact]
    public void A_compartments_closings_are_those_of_both_holdings_on_each_day_that_money_moved()
    {
        var trail = Draw(
            By("keeper", Fill(Ferry, 30m, new DateOnly(2026, 8, 20))),
            By("keeper", Fill(Ferry, 40m, Sept(5))),
            By("keeper", Spend(Ferry, 12.50m, Sept(3))),
            By("keeper", Spend(Ferry, 2m, Sept(5))),
            By("keeper", Transfer(Cash(Ferry), Bank(Ferry), 15m, Sept(6))),
            By("keeper", Transfer(Cash(Ferry), Cash(Market), 10m, Sept(8))));

        Assert.Equal(Eur(30m), trail.Opening(Ferry));
        Assert.Equal(
            [new DayClosing(Sept(3), Eur(17.50m)), new DayClosing(Sept(5), Eur(55.50m)),
                new DayClosing(Sept(6), Eur(55.50m)), new DayClosing(Sept(8), Eur(45.50m))],
            trail.Closings(Ferry));
        Assert.Equal([new DayClosing(Sept(8), Eur(10m))], trail.Closings(Market));
        Assert.Empty(trail.Closings(Boat));
    }

    [Fact]
    public void Who_did_what_is_told_by_key_and_kind()
    {
        var trail = Draw(
            By("keeper", Fill(Ferry, 40m, Sept(1))),
            By("partner", Spend(Ferry, 3m, Sept(3))),
            By("partner", Spend(Ferry, 4m, Sept(4))),
            By("partner", Count(Ferry, 33m, 32m, Sept(4))));

        Assert.Equal(
            [("keeper", "Filled", 1, Eur(40m)), ("partner", "Spent", 2, Eur(7m)),
                ("partner", "CountTaken", 1, Eur(-1m))],
            trail.Writers.Select(w => (w.By, w.Line.GetType().Name, w.Lines, w.Amount)));
    }

    [Fact]
    public void A_spend_and_its_reversal_make_nothing_and_both_are_shown()
    {
        var spent = FirstLine + 1;
        var trail = Draw(
            By("keeper", Fill(Ferry, 40m, Sept(1))),
            By("partner", Spend(Ferry, 3m, Sept(3))),
            By("keeper", new Reversed(new Correction(spent), MovementKind.Spend, [new Posting(Cash(Ferry), Eur(3m))],
                Sept(3), "twice"), recordedOn: 9));

        Assert.Equal((Money.Zero, Eur(40m)),
            (In(trail, Cash(Ferry), Column.Spent), trail.Rows.Single(r => r.Place == Cash(Ferry)).Closing));
        Assert.Equal([(FirstLine, 0, false), (spent, 0, false), (spent + 1, 6, true)],
            trail.Lines.Select(l => (l.Line.Number, l.DaysLate, l.IsCorrection)));
        Assert.Equal(Money.Zero, trail.Difference);
    }

    [Fact]
    public void A_correction_of_a_closed_month_stands_in_a_column_of_its_own()
    {
        var trail = Draw(
            By("keeper", Fill(Ferry, 40m, new DateOnly(2026, 8, 20))),
            By("keeper", Spend(Ferry, 3m, new DateOnly(2026, 8, 21))),
            By("keeper", new Reversed(new Correction(FirstLine + 1, new DateOnly(2026, 8, 21)), MovementKind.Spend,
                [new Posting(Cash(Ferry), Eur(3m))], Sept(2), "twice")),
            By("keeper", Spend(Ferry, 2m,
                Sept(2)) with
            { Corrects = new Correction(FirstLine + 1, new DateOnly(2026, 8, 21)) }));

        Assert.Equal((Money.Zero, Eur(1m)),
            (In(trail, Cash(Ferry), Column.Spent), In(trail, Cash(Ferry), Column.Corrected)));
        Assert.Equal(Money.Zero, trail.Difference);
    }

    [Fact]
    public void What_moved_between_places_is_added_up_and_what_was_undone_taken_off()
    {
        var trail = Draw(
            By("keeper", Fill(Ferry, 40m, Sept(1))),
            By("keeper", Transfer(Cash(Ferry), Cash(Market), 10m, Sept(5))),
            By("keeper", Sweep(Cash(Ferry), Cash(Market), 5m, Sept(6))),
            By("keeper", Transfer(Cash(Ferry), Cash(Boat), 7m, Sept(6))),
            By("keeper", new Reversed(new Correction(FirstLine + 3), MovementKind.Transfer,
                [new Posting(Cash(Ferry), Eur(7m)), new Posting(Cash(Boat), Eur(-7m))], Sept(6), "no")));

        Assert.Equal([new TrailMove(Cash(Ferry), Cash(Market), Eur(15m))], trail.Moves);
    }

    [Fact]
    public void A_count_that_disagrees_is_marked_until_it_is_settled()
    {
        var lines = new[] { By("keeper", Fill(Ferry, 40m, Sept(1))), By("keeper", Count(Ferry, 40m, 41m, Sept(2))) };

        Assert.Equal([false, true], Draw(lines).Lines.Select(l => l.Unsettled));
        Assert.Equal([new OpenItem(OpenItemKind.CountUnsettled, Cash(Ferry), Sept(2), FirstLine + 1, Eur(1m))],
            Draw(lines).Open);
        var settled = Draw([.. lines, By("keeper", Settle(FirstLine + 1, Ferry, 1m, Sept(2)))]);
        Assert.Equal([false, false, false], settled.Lines.Select(l => l.Unsettled));
        Assert.Empty(settled.Open);
        Assert.Equal((Eur(1m), Money.Zero), (In(settled, Cash(Ferry), Column.Over), settled.Difference));
    }

    [Fact]
    public void A_day_is_late_by_the_household_s_calendar()
    {
        // 23:30 UTC on 5 September is 00:30 on the 6th in Dublin (UTC+1 in summer).
        var written = new BookLine(FirstLine, FirstLine, new DateTimeOffset(2026, 9, 5, 23, 30, 0, TimeSpan.Zero),
            "keeper", Fill(Ferry, 1m, Sept(5)));
        var book = Opening.Append(written.Event).Aggregate(Book.Empty, (b, l) => b.Apply(l));

        var trail = Trail.Of(September, book, ImmutableDictionary<Part, Money>.Empty, On(book, September.Last),
            [written], null);

        Assert.Equal(1, trail.Lines.Single().DaysLate);
    }

    [Fact]
    public void A_table_that_does_not_fit_the_lines_shows_in_the_trial_balance()
    {
        var written = new BookLine(FirstLine, FirstLine, default, "keeper", Fill(Ferry, 20m, Sept(5)));
        var book = Opening.Append(written.Event).Aggregate(Book.Empty, (b, l) => b.Apply(l));

        var trail = Trail.Of(September, book, ImmutableDictionary<Part, Money>.Empty,
            new Dictionary<Part, Money> { [Cash(Ferry)] = Eur(19m) }, [written], null);

        Assert.Equal(Eur(-1m), trail.Difference);
    }
}
