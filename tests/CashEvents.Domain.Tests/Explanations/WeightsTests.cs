using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>
/// What each cause weighs: its share, and how likely such a slip makes just this of what is written. Worked by hand
/// from docs/explanations.md; how usual an amount is comes from the habits, which have tests of their own.
/// </summary>
public class WeightsTests
{
    // Of the ferry fares four spends, one refund, two fills and three transfers in 70 days up to the count.
    private static readonly IBookEvent[] _lines =
    [
        Fill(Ferry, 200m, Back(69)), Fill(Ferry, 50m, Back(60)), Fill(Market, 100m, Back(60)),
        Spend(Ferry, 6.55m, Back(46), description: "Bell"), Spend(Ferry, 4.82m, Back(45), description: "Return"),
        Spend(Ferry, 9.18m, Back(20), description: "Boat"), Refund(Ferry, 2.22m, Back(19)),
        Transfer(Cash(Ferry), Cash(Market), 30m, Back(18)), Transfer(Cash(Market), Cash(Ferry), 10m, Back(17)),
        Transfer(Cash(Ferry), Cash(Market), 12.34m, Back(16)),
        Spend(Ferry, 17.36m, Back(10), description: "Bicycle"),
    ];

    // Spends and a half; refunds twice, and 0.12 for each spend and 0.1; fills 0.35 times and 0.1; transfers 1.2 times,
    // and 0.1 for each spend and 0.3.
    private const decimal Kinds = 4.5m + (2m + 0.48m + 0.1m) + (0.7m + 0.1m) + (3.6m + 0.4m + 0.3m);

    [Fact]
    public void A_missing_movement_weighs_by_how_often_the_place_has_its_kind()
    {
        var (at, missing) = Missing();

        Near([(MovementKind.Spend, 0.32m * 4.5m / Kinds
            * at.Habits.Share(Cash(Ferry), MovementKind.Spend, -Eur(5.55m)))], missing.Weights(-Eur(5.55m)));
        Near([
            (MovementKind.Refund, 0.32m * 2.58m / Kinds * 0.3m
                * at.Habits.Share(Cash(Ferry), MovementKind.Refund, Eur(5.55m))),
            (MovementKind.Fill, 0.32m * 0.8m / Kinds
                * at.Habits.Share(Cash(Ferry), MovementKind.Fill, Eur(5.55m)))], missing.Weights(Eur(5.55m)));
        Near(0.32m * 4.5m / Kinds * 0.32m * 4.5m / Kinds / 2m
            * at.Habits.ShareOfTwo(Cash(Ferry), MovementKind.Spend, -Eur(23.57m)), missing.TwoSpends(-Eur(23.57m)));
        Assert.Equal(0m, missing.TwoSpends(Eur(23.57m)));
    }

    /// <summary>What came back, and the days since it was paid: a half after ten days, a third after 20.</summary>
    [Theory]
    [InlineData(17.36, 10)]
    [InlineData(9.18, 20)]
    [InlineData(4.82, 45)]
    [InlineData(6.55, null)]
    [InlineData(1.11, null)]
    public void Seven_tenths_of_a_refund_go_to_spends_of_45_days(double amount, int? days)
    {
        const decimal all = (10m / 20m) + (10m / 30m) + (10m / 55m);
        var (at, missing) = Missing();
        var change = Eur((decimal)amount);

        Near(0.32m * 2.58m / Kinds * ((days is { } ago ? 0.7m * (10m / (10 + ago)) / all : 0m)
                + (0.3m * at.Habits.Share(Cash(Ferry), MovementKind.Refund, change))),
            missing.Weights(change).First().Weight);
    }

    [Fact]
    public void The_only_spend_of_a_while_is_taken_back_half_as_likely_after_ten_days()
    {
        var (at, missing) = Missing([Fill(Ferry, 100m, Back(69)), Spend(Ferry, 9.18m, Back(10))]);

        Near(0.32m * (0.12m + 0.1m) / (1.5m + 0.22m + 0.45m + 0.4m) * ((0.7m * 0.5m)
                + (0.3m * at.Habits.Share(Cash(Ferry), MovementKind.Refund, Eur(9.18m)))),
            missing.Weights(Eur(9.18m)).First().Weight);
    }

    [Fact]
    public void Days_before_the_count_fit_by_their_weekday_and_by_whether_they_have_the_like()
    {
        // One bicycle on a Monday, in 70 days: a day that has one has another by 1 / (1 + 7 / 140). Of the 60 days
        // before the count nine are Mondays.
        var (at, counted) = At(_lines);
        var days = new DaysLeft(at, counted);
        var each = days.Each(MovementKind.Spend, true, "Bicycle");

        Assert.Equal((60, Back(1), Back(60)), (days.Before.Count(), days.Before.First(), days.Before.Last()));
        Near(1.75m / 1.05m, each[9]);
        Near(1.75m, each[2]);
        Near(0.875m, each[0]);
        var average = ((8 * 1.75m) + (1.75m / 1.05m) + (51 * 0.875m)) / 60m;
        Near(average, days.For(MovementKind.Spend, true, "Bicycle"));
        Near(0.32m * 4.5m / Kinds * at.Habits.Share(Cash(Ferry), MovementKind.Spend, -Eur(17.36m)) * average,
            new MissingMovements(at, counted, days).Weights(-Eur(17.36m)).Single().Weight);
        Near(1m, days.For(MovementKind.Spend, true, "Never said"));
    }

    [Fact]
    public void Days_are_looked_at_since_the_count_that_agreed()
    {
        var (at, counted) = At([.. _lines[..^1], Count(Ferry, 0m, 200m + 50m - 6.55m - 4.82m - 9.18m + 2.22m - 30m + 10m
            - 12.34m, Back(12)), _lines[^1]]);

        Assert.Equal(Back(12), counted.Since);
        Assert.Equal((12, Back(12)), (new DaysLeft(at, counted).Before.Count(),
            new DaysLeft(at, counted).Before.Last()));
    }

    [Fact]
    public void A_transfer_goes_by_round_sums_and_by_with_whom_money_was_moved()
    {
        // One to four notes from 5 to 100 euro make 14 sums. With the market days money moved three times; they have
        // all four movements of the three others, thrice the mean. Each has 0.3 besides.
        var (at, missing) = Missing();
        decimal Weight(decimal change, string partner) => missing.Making(Eur(change)).OfType<NotRecorded>()
            .Single(m => m.Movement is Transferred t && (t.To == Cash(partner) || t.From == Cash(partner))).Weight;
        const decimal half = 0.32m * 4.3m / Kinds / 2m;
        decimal Usual(decimal change) => at.Habits.ShareOfKind(MovementKind.Transfer, Eur(change));

        Near(half * (3.3m + 0.9m) / 4.8m * ((0.5m / 14m) + (0.5m * Usual(-30m))), Weight(-30m, Market));
        Near(half * (3.3m + 0.9m) / 4.8m * 0.5m * Usual(-12.35m), Weight(-12.35m, Market));
        Near(half * 0.3m / 4.8m * ((0.5m / 14m) + (0.5m * Usual(40m))), Weight(40m, Van));
        Assert.Equal([5, 10, 15, 20, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400],
            at.RoundSums.Order().Select(s => s / 100));
        Assert.Equal(3, at.OtherPlaces);
    }

    [Fact]
    public void What_is_lost_is_a_coin_a_note_an_odd_sum_or_anything()
    {
        // Of 14 amounts, a transfer having two, eight are multiples of five cents: of odd sums 0.2 + 0.8 · 8/14.
        var (at, _) = At(_lines);
        const decimal steps = 0.2m + (0.8m * 8m / 14m);
        decimal Of(decimal change, decimal coinsAndNotes, decimal odd) => 0.7m
            * (coinsAndNotes + (0.37m * odd) + (0.08m * at.Habits.ShareOfAll(Eur(change))));
        const decimal three = 0.5m / 300m;
        const decimal eight = 0.4m / 800m;
        const decimal thirty = 0.1m / 3000m;
        const decimal inSteps = (steps * 5m) + 1m - steps;

        Near(Of(2m, 0.4m / 8m, (three + eight + thirty) * inSteps), at.Losses.Share(-Eur(2m)));
        Near(Of(2m, 0.4m / 8m, (three + eight + thirty) * inSteps) * 3m / 7m, at.Losses.Share(Eur(2m)));
        Near(Of(5m, 0.15m / 5m, (eight + thirty) * inSteps), at.Losses.Share(-Eur(5m)));
        Near(Of(100m, 0.15m / 5m, 0m), at.Losses.Share(-Eur(100m)));
        Near(Of(200m, 0m, 0m), at.Losses.Share(-Eur(200m)));
        Near(Of(3m, 0m, (three + eight + thirty) * inSteps), at.Losses.Share(-Eur(3m)));
        Near(Of(3.01m, 0m, (eight + thirty) * (1m - steps)), at.Losses.Share(-Eur(3.01m)));
        Near(Of(8m, 0m, (eight + thirty) * inSteps), at.Losses.Share(-Eur(8m)));
        Near(Of(8.01m, 0m, thirty * (1m - steps)), at.Losses.Share(-Eur(8.01m)));
        Near(Of(30m, 0m, thirty * inSteps), at.Losses.Share(-Eur(30m)));
        Near(Of(30.01m, 0m, 0m), at.Losses.Share(-Eur(30.01m)));
    }

    [Fact]
    public void All_that_may_be_lost_or_found_is_one()
    {
        var (at, _) = At(_lines);
        decimal all = 0m, usual = 0m;
        for (var minor = 1; minor <= 10_000; minor++)
        {
            all += at.Losses.Share(new Money(minor)) + at.Losses.Share(new Money(-minor));
            usual += at.Habits.ShareOfAll(new Money(minor));
        }

        Near(0.92m + (0.08m * usual), all);
    }

    [Fact]
    public void A_line_the_wrong_way_round_weighs_by_how_usual_it_is_either_way()
    {
        // Ten lines move the ferry fares; half of the chance is shared by them.
        var (at, counted) = At(_lines);
        var mistakes = Miswritten(at, counted).Making(Eur(18.36m)).Where(m => m.Kind == MistakeKind.WrongDirection)
            .Cast<Miswritten>().ToList();
        var written = (IReplacement)_lines[5];

        Assert.Equal([MovementKind.Refund, MovementKind.Fill], mistakes.Select(m => m.Right.Kind));
        Assert.All(mistakes, m => Near(0.025m / 2m / 10m
            * at.Habits.Rate(Cash(Ferry), m.Right, Eur(9.18m), AmountsOf.Household)
            / at.Habits.Rate(Cash(Ferry), written, -Eur(9.18m), AmountsOf.Words), m.Weight));
    }

    [Fact]
    public void A_slip_of_the_pen_weighs_by_all_amounts_that_were_written_and_how_usual_the_right_one_is()
    {
        // 9.18 for 9.81: ten amounts and the total; three figures have two pairs of neighbours. No other slip makes it.
        var (at, counted) = At(_lines);
        var slip = Miswritten(at, counted).Making(-Eur(0.63m))
            .Single(m => m is Miswritten { Kind: MistakeKind.Transposed, Line: var l } && l == FirstLine + 5);

        Near(0.035m / 2m / 11m * Fit(at, 5, 9.81m), slip.Weight);
        // 4.82 for 5.82: one figure of three, of nine that it may have been. The count tells its pieces.
        (at, counted) = At(_lines, new Pieces(Eur(20m), 9));
        slip = Miswritten(at, counted).Making(-Eur(1m))
            .Single(m => m is Miswritten { Line: var l } && l == FirstLine + 4);
        Near(0.025m / (9m * 3m) / 10m * Fit(at, 4, 5.82m), slip.Weight);

        decimal Fit(LookedAt at, int line, decimal right)
        {
            var said = (Spent)_lines[line];
            return at.Habits.ShareWithWords(Cash(Ferry), said, -Eur(right), -said.Amount)
                / at.Habits.ShareWithWords(Cash(Ferry), said, -said.Amount, -said.Amount);
        }
    }

    /// <summary>
    /// Days after the count, and how many there are until today: 0.7 for each further day, shared by those that there
    /// are, fourteen at most.
    /// </summary>
    [Theory]
    [InlineData(0, 4, 1.0, 2.7731)]
    [InlineData(2, 4, 0.49, 2.7731)]
    [InlineData(4, 4, 0.2401, 2.7731)]
    [InlineData(2, 16, 0.49, 3.31750813)]
    [InlineData(14, 16, 0.00678223, 3.31750813)]
    public void A_line_on_a_later_day_weighs_the_less_the_later_it_is(int late, int days, double day, double all)
    {
        var on = Today.AddDays(-days);
        var (at, counted) = Counted([Fill(Ferry, 100m, on.AddDays(-20)), Spend(Ferry, 5.11m, on.AddDays(-3)),
            Count(Ferry, 0m, 90m, on), Spend(Ferry, 9.18m, on.AddDays(late), description: "Boat")]);

        var mistake = Miswritten(at, counted).Misdated(-Eur(9.18m)).Single();

        // Two lines in 20 days before it. Its own weekday is as likely as any: there is no other with its words.
        var fit = new DaysLeft(at, counted).For(MovementKind.Spend, true, "Boat");
        Near(0.045m / 2m * 20m * 0.75m * (decimal)(day / all) * fit, mistake.Weight, 1e-6m);
        Assert.Equal(on.AddDays(-1), mistake.Right.OccurredOn);
    }

    /// <summary>The day of a line before the count, of the twenty that there are.</summary>
    [Theory]
    [InlineData(1, 0.7)]
    [InlineData(3, 0.343)]
    [InlineData(14, 0.00678223)]
    [InlineData(15, null)]
    public void A_line_before_the_count_may_belong_after_it_as_long_as_there_are_days_after_it(int early, double? day)
    {
        var on = Today.AddDays(-1);
        (LookedAt, CountedPlace) CountedOn(DateOnly count) => Counted([Fill(Ferry, 100m, count.AddDays(-20)),
            Spend(Ferry, 9.18m, count.AddDays(-early)), Count(Ferry, 0m, 100m, count)]);

        var (at, counted) = CountedOn(on);
        var mistakes = Miswritten(at, counted).Misdated(Eur(9.18m)).ToList();

        Assert.Equal(day is null ? [] : [on.AddDays(1)], mistakes.Select(m => m.Right.OccurredOn));
        Assert.All(mistakes, m => Near(0.045m / 2m * 20m * 0.25m * (decimal)(day! / 3.31750813), m.Weight, 1e-6m));
        (at, counted) = CountedOn(Today);
        Assert.Empty(Miswritten(at, counted).Misdated(Eur(9.18m)));
    }

    [Fact]
    public void Later_than_a_fortnight_a_line_is_not_misdated_and_on_the_day_of_the_count_all_is_for_what_came_after()
    {
        (LookedAt At, CountedPlace Counted) Of(int days, int late) => Counted([Fill(Ferry, 100m, Back(30)),
            Count(Ferry, 0m, 90m, Back(days)), Spend(Ferry, 9.18m, Back(days - late))]);

        var (at, counted) = Of(16, 15);
        Assert.Empty(Miswritten(at, counted).Misdated(-Eur(9.18m)));
        // Today's count: all of the chance, of one day; one line in 30 days. The words are none.
        (at, counted) = Of(0, 0);
        Near(0.045m * 30m * new DaysLeft(at, counted).For(MovementKind.Spend, true, ""),
            Miswritten(at, counted).Misdated(-Eur(9.18m)).Single().Weight);
    }

    [Fact]
    public void A_line_in_another_compartment_weighs_by_how_usual_it_is_there()
    {
        // Half of the chance, among three other compartments. The market days have four lines in the 69 days of this
        // count and these 70; one more, as this one would be one of theirs.
        var (at, counted) = At([.. _lines, Fill(Ferry, 20m, Back(5), Holding.Bank)]);
        var misplaced = new MisplacedLines(at, counted);
        var boat = (Spent)_lines[5];
        var away = misplaced.Making(Eur(9.18m)).Cast<Miswritten>().ToList();
        var written = at.Habits.Rate(Cash(Ferry), boat, -Eur(9.18m), AmountsOf.Words);
        decimal Fit(Part there) => at.Habits.Rate(there, boat with
        { Compartment = there.Compartment, Holding = there.Holding }, -Eur(9.18m), AmountsOf.Kind) / written;

        Assert.Equal(4, away.Count);
        Near(0.025m / 2m / (1m + (1m / 70m * 69m)) * Fit(Bank(Ferry)), To(Bank(Ferry)));
        Near(0.06m / 2m / (1m + (4m / 70m * 69m)) / 3m * Fit(Cash(Market)), To(Cash(Market)));
        Near(0.06m / 2m / 3m * Fit(Cash(Van)), To(Cash(Van)));
        Near(0.06m / 2m / 3m * Fit(Cash(Boat)), To(Cash(Boat)));

        decimal To(Part place) => away.Single(m => m.Right.Postings.Single().Place == place).Weight;
    }

    [Fact]
    public void A_line_elsewhere_that_belongs_here_weighs_by_how_usual_it_is_here()
    {
        var (at, counted) = At([.. _lines, Spend(Van, 7.77m, Back(4), description: "Bread")]);
        var hither = (Miswritten)new MisplacedLines(at, counted).Making(-Eur(7.77m)).Single();

        // Ten lines of the ferry fares in 70 days.
        Near(0.06m / 2m / (1m + (10m / 70m * 69m)) / 3m
            * at.Habits.Rate(Cash(Ferry), hither.Right, -Eur(7.77m), AmountsOf.Kind)
            / at.Habits.Rate(Cash(Van), hither.Written, -Eur(7.77m), AmountsOf.Words), hither.Weight);
        Assert.Equal(Cash(Ferry), hither.Right.Postings.Single().Place);
    }

    /// <summary>Days between two lines alike, with the share that these have.</summary>
    [Theory]
    [InlineData(0, "Boat", 0.7, 0.75)]
    [InlineData(1, "Boat", 0.12, 0.75)]
    [InlineData(2, "", 0.06, 0.15)]
    [InlineData(3, "Ship", 0.04, 0.02)]
    [InlineData(4, "Boat", 0.03, 0.75)]
    [InlineData(5, "Boat", 0.02, 0.75)]
    [InlineData(6, "Boat", 0.02, 0.75)]
    [InlineData(7, "Boat", 0.01, 0.75)]
    [InlineData(8, "Boat", null, 0.75)]
    public void A_line_that_was_written_twice_weighs_by_the_days_between_and_its_words(int days, string words,
        double? gap, double same)
    {
        var (at, counted) = At([.. _lines, Spend(Ferry, 9.18m, Back(20 - days), description: words)]);

        var twice = new NeedlessLines(at, counted).Twice(Eur(9.18m), int.MaxValue).Cast<NeedlesslyRecorded>().ToList();

        Assert.Equal(gap is null ? [] : [(FirstLine + 5, FirstLine + 11)],
            twice.Select(m => (m.Twin!.Value, m.Written.Single().Line)));
        Assert.All(twice, m => Near(0.06m / 11m * (decimal)(gap! * same) / at.Habits.Rate(Cash(Ferry),
            m.Written[0].Said, -Eur(9.18m), AmountsOf.Words), m.Weight));
    }

    [Fact]
    public void What_did_not_move_is_rather_a_round_sum()
    {
        // Ten lines. Half of the weight of one is that it was planned: by how much likelier one of 14 round sums is
        // just this than a line with these words, twenty times at most.
        var (at, counted) = At(_lines);
        decimal Weight(Money wanted, int line) => new NeedlessLines(at, counted).Making(wanted)
            .Single(m => m.Code == $"notMoved-{FirstLine + line}").Weight;
        decimal Usual(int line, decimal change) => at.Habits.ShareWithWords(Cash(Ferry), (IReplacement)_lines[line],
            Eur(change), Eur(change));

        Near(0.02m * 0.7m / 10m * 0.5m, Weight(Eur(9.18m), 5));
        Assert.True(1m / 14m / Usual(7, -30m) > 20m);
        Near(0.02m * 0.7m / 10m * (0.5m + (0.5m * 20m)), Weight(Eur(30m), 7));
        var again = Transfer(Cash(Ferry), Cash(Market), 30m, Back(2));
        (at, counted) = At([.. _lines, again, again]);
        Assert.True(1m / 14m / Usual(7, -30m) < 20m);
        Near(0.02m * 0.7m / 12m * (0.5m + (0.5m / 14m / Usual(7, -30m))), Weight(Eur(30m), 7));
    }

    /// <summary>The days between two lines that did not move: half as likely for each.</summary>
    [Theory]
    [InlineData(0, 2, 2)]
    [InlineData(1, 3, 4)]
    [InlineData(2, 3, 8)]
    [InlineData(7, 3, 256)]
    [InlineData(8, null, 0)]
    public void Two_that_did_not_move_weigh_by_the_days_between(int days, int? near, int halved)
    {
        // Four lines: a third stands a day after the first, among those that are as near.
        var (at, counted) = At([Fill(Ferry, 100m, Back(40)), Spend(Ferry, 7.31m, Back(20)),
            Spend(Ferry, 1.11m, Back(19)), Spend(Ferry, 2.17m, Back(20 - days))]);

        var two = new NeedlessLines(at, counted).Making(Eur(9.48m)).Where(m => m.Kind == MistakeKind.NotMoved).ToList();

        Assert.Equal(near is null ? 0 : 1, two.Count);
        Assert.All(two, m => Near(0.02m * 0.15m / 4m / near!.Value / halved, m.Weight));
    }

    [Fact]
    public void Three_and_some_in_a_row_that_did_not_move_weigh_less()
    {
        var (at, counted) = At([Fill(Ferry, 100m, Back(40)), Spend(Ferry, 7.31m, Back(20)),
            Spend(Ferry, 1.11m, Back(20)), Spend(Ferry, 2.17m, Back(19)), Spend(Ferry, 4.03m, Back(1))]);
        decimal Weight(decimal wanted, int lines) => new NeedlessLines(at, counted).Making(Eur(wanted))
            .OfType<NeedlesslyRecorded>().Single(m => m.Kind == MistakeKind.NotMoved && m.Written.Length == lines)
            .Weight;

        // Of five lines three are as near, which have four and a half threes; two days. Rows have twelve at most.
        Near(0.02m * 0.05m / 5m / 4.5m / 4m, Weight(10.59m, 3));
        Near(0.02m * 0.1m / 5m / 12m, Weight(14.62m, 4));
    }

    [Fact]
    public void What_is_missing_may_have_taken_all_there_was_and_is_told_by_what_came_before_it()
    {
        var (_, all) = Missing([Fill(Ferry, 12m, Back(30))]);
        Assert.Equal(Back(1), all.Of(MovementKind.Spend, -Eur(12m)).Movement.OccurredOn);
        Assert.NotNull(all.Of(MovementKind.Spend, -Eur(12.01m)).CountedThen);

        // Twice before the count, once after it.
        IBookEvent Boat(int back) => Spend(Ferry, 9.18m, Back(back), description: "Boat");
        var (at, counted) = Counted(Fill(Ferry, 100m, Back(30)), Boat(20), Boat(10), Count(Ferry, 0m, 70m, Back(3)),
            Boat(1));
        var missing = new MissingMovements(at, counted, new DaysLeft(at, counted));
        Assert.Equal(2, missing.Of(MovementKind.Spend, -Eur(9.18m)).SeenBefore);
    }

    [Fact]
    public void Of_what_was_rounded_to_a_half_amounts_that_come_again_are_tried()
    {
        bool Tried(decimal written, decimal seen)
        {
            var (at, counted) = At([Fill(Ferry, 100m, Back(30)), Spend(Ferry, seen, Back(9)),
                Spend(Ferry, seen, Back(8)), Spend(Ferry, written, Back(7))]);
            return Miswritten(at, counted).All(150).Any(m => m.Code == $"rounded-{FirstLine + 3}-{Eur(seen).Minor}");
        }

        Assert.True(Tried(4.50m, 4.63m));
        Assert.True(Tried(5m, 4.63m));
        Assert.True(Tried(5m, 5.38m));
        Assert.False(Tried(4.40m, 4.37m));
        Assert.False(Tried(6m, 4.63m));
    }

    /// <summary>Days before today of a line elsewhere, and what is left of its weight: a count agreed twelve days
    /// ago.</summary>
    [Theory]
    [InlineData(11, 1.0)]
    [InlineData(12, 1.0)]
    [InlineData(13, 0.05)]
    [InlineData(19, 0.05)]
    [InlineData(20, null)]
    public void A_line_elsewhere_from_before_a_count_that_agreed_weighs_a_twentieth(int back, double? times)
    {
        var (at, counted) = At([Fill(Ferry, 100m, Back(69)), Fill(Van, 100m, Back(69)),
            Count(Ferry, 0m, 100m, Back(12)), Spend(Van, 7.77m, Back(back), description: "Bread")]);

        var hither = new MisplacedLines(at, counted).Making(-Eur(7.77m)).Cast<Miswritten>().ToList();

        // One line of the ferry fares in 70 days; twelve since.
        Assert.Equal(times is null ? 0 : 1, hither.Count);
        Assert.All(hither, m => Near((decimal)times! * 0.06m / 2m / (1m + (1m / 70m * 12m)) / 3m
            * at.Habits.Rate(Cash(Ferry), m.Right, -Eur(7.77m), AmountsOf.Kind)
            / at.Habits.Rate(Cash(Van), m.Written, -Eur(7.77m), AmountsOf.Words), m.Weight));
    }

    [Fact]
    public void A_line_may_repeat_one_from_before_a_count_that_agreed()
    {
        IBookEvent Boat(int back) => Spend(Ferry, 9.18m, Back(back), description: "Boat");
        List<Mistake> Twice(int copy)
        {
            var (at, counted) = At([Fill(Ferry, 100m, Back(69)), Boat(14), .. copy > 12 ? new[] { Boat(copy) } : [],
                Count(Ferry, 0m, 100m - (copy > 12 ? 18.36m : 9.18m), Back(12)), Spend(Ferry, 1.11m, Back(11)),
                .. copy > 12 ? [] : new[] { Boat(copy) }]);
            var twice = new NeedlessLines(at, counted).Twice(Eur(9.18m), 150).ToList();
            // Two lines are fresh; four days are between.
            Assert.All(twice, m => Near(0.06m / 2m * 0.03m * 0.75m / at.Habits.Rate(Cash(Ferry),
                ((NeedlesslyRecorded)m).Written[0].Said, -Eur(9.18m), AmountsOf.Words), m.Weight));
            return twice;
        }

        Assert.Single(Twice(10));
        Assert.Empty(Twice(13));
    }

    [Fact]
    public void The_only_note_that_was_counted_may_have_been_counted_twice()
    {
        var (at, counted) = Counted(Fill(Ferry, 20m, Back(9)), Spend(Ferry, 20m, Back(8)),
            Count(Ferry, 0m, 20m) with { Pieces = [new Pieces(Eur(20m), 1)] });

        // Eleven notes and coins up to twenty, each with 0.3, and the one that is there.
        Near(0.055m * 0.3m / (1m + (11m * 0.3m)), new CountingSlips(at, counted).Making(Eur(20m))
            .Single(m => m.Code == "piecesMiscounted-2000-0").Weight);
    }

    private static DateOnly Back(int days) => Today.AddDays(-days);

    // The ferry fares counted today.
    private static (LookedAt At, CountedPlace Counted) At(IBookEvent[] lines, params Pieces[] pieces) =>
        Counted([.. lines, Count(Ferry, 0m, 180m) with { Pieces = [.. pieces] }]);

    // As they were counted last.
    private static (LookedAt At, CountedPlace Counted) Counted(params IBookEvent[] lines)
    {
        var told = Told.Of(lines);
        var at = new LookedAt(told.Book, told.Lines, told.Book.CashCount(Ferry)!, Today);
        return (at, at.Counted.Single(c => c.Place == Cash(Ferry)));
    }

    private static (LookedAt At, MissingMovements Missing) Missing(IBookEvent[]? lines = null)
    {
        var (at, counted) = At(lines ?? _lines);
        return (at, new MissingMovements(at, counted, new DaysLeft(at, counted)));
    }

    private static MiswrittenLines Miswritten(LookedAt at, CountedPlace counted) =>
        new(at, counted, new DaysLeft(at, counted));

    private static void Near(IEnumerable<(MovementKind Kind, decimal Weight)> expected,
        IEnumerable<(MovementKind Kind, decimal Weight)> actual)
    {
        Assert.Equal(expected.Select(e => e.Kind), actual.Select(a => a.Kind));
        Assert.All(expected.Zip(actual), both => Near(both.First.Weight, both.Second.Weight));
    }

    private static void Near(decimal expected, decimal actual, decimal within = 1e-9m) => Assert.InRange(actual,
        expected - (Math.Abs(expected) * within), expected + (Math.Abs(expected) * within));
}
