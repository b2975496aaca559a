using System.Collections.Immutable;
using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Plans;

/// <summary>Whatever was written, planned and asked for, the sheets are what adding up line by line gives.</summary>
public class WeekSheetPropertyTests
{
    private static readonly DateOnly _start = new(2025, 11, 1);
    private static readonly string[] _compartments = [Ferry, Market, Van, Boat];
    private static readonly string[] _planned = [Ferry, Market];

    private static Gen<DateOnly> Day => Gen.Int[0, 500].Select(_start.AddDays);

    private static Gen<Part> AnyPlace =>
        Gen.Select(Gen.OneOf([.. _compartments.Select(Gen.Const)]), Gen.Enum<Holding>(), (c, h) => new Part(c, h));

    private static Gen<IMovement> AnyMovement =>
        Gen.Select(Gen.Int[0, 6], AnyPlace, AnyPlace, Gen.Int[1, 9999].Select(cents => cents / 100m), Day,
            (kind, at, to, amount, day) => (IMovement)(kind switch
            {
                0 => Fill(at.Compartment, amount, day, at.Holding),
                1 or 2 => Spend(at.Compartment, amount, day, at.Holding),
                3 => Refund(at.Compartment, amount, day, at.Holding),
                4 => Transfer(at, to == at ? Other(at) : to, amount, day),
                5 => Sweep(at, to == at ? Other(at) : to, amount, day),
                _ => Settle(1, at.Compartment, day.DayNumber % 2 == 0 ? amount : -amount, day, holding: at.Holding),
            }));

    private static Gen<PlanSet> AnyPlan =>
        Gen.Select(Day, Gen.OneOf([.. _planned.Select(Gen.Const)]), Gen.Int[0, 9999], (day, compartment, cents) =>
        new PlanSet(day, ImmutableSortedDictionary<string, Money>.Empty.Add(compartment, new Money(cents))));

    private static Part Other(Part part) =>
        part with { Holding = part.Holding == Holding.Cash ? Holding.Bank : Holding.Cash };

    // Some lines are undone afterwards, some of them as lines of a closed month.
    private static IEnumerable<IMovement> WithReversals(IMovement[] movements, bool[] undone) =>
        movements.Concat(movements.Zip(undone).Where(m => m.Second).Select((m, i) => new Reversed(
        new Correction(i + 1, i % 2 == 0 ? null : m.First.OccurredOn), m.First.Kind,
        [.. m.First.Postings.Select(p => new Posting(p.Place, -p.Amount))],
        m.First.OccurredOn.AddDays(i % 2 == 0 ? 0 : 31), "undone")));

    [Fact]
    public void Sheets_of_weeks_agree_with_the_lines() =>
        Gen.Select(AnyMovement.Array[0, 60], Gen.Bool.Array[12], AnyPlan.Array[0, 5], Gen.Enum<DayOfWeek>(), Day,
            Gen.Int[0, 12])
            .Sample((movements, undone, plans, startsOn, from, more) =>
                Agree([.. WithReversals(movements, undone)], plans,
                    WeekSlice.Whole(Week.Of(from, startsOn), Week.Of(from.AddDays(7 * more), startsOn))));

    [Fact]
    public void Sheets_of_months_agree_with_the_lines() =>
        Gen.Select(AnyMovement.Array[0, 60], Gen.Bool.Array[12], AnyPlan.Array[0, 5], Gen.Enum<DayOfWeek>(), Day)
            .Sample((movements, undone, plans, startsOn, day) =>
                Agree([.. WithReversals(movements, undone)], plans, WeekSlice.Of(Month.Of(day), startsOn)));

    private static void Agree(IReadOnlyList<IMovement> movements, PlanSet[] plans, IReadOnlyList<WeekSlice> slices)
    {
        var counts = _compartments.SelectMany(c => new[] { Count(c, 0m, 0m), Count(c, 0m, 0m, holding: Holding.Bank) });
        var book = Given([.. counts, .. plans, .. movements]).Book;
        IReadOnlyList<WeekSlice> since = [.. WeekSlice.EarlierInItsYear(slices), .. slices];
        var totals = ColumnTotals.Of(movements, [.. slices.Select(s => s.First)], slices[^1].Last);
        var sheets = WeekSheet.Of(book, slices, totals,
            YearToDate.Spent(movements, YearToDate.Begins(book, slices), slices[0].First), Today);

        Assert.Equal(slices, sheets.Select(s => s.Slice));
        foreach (var sheet in sheets)
        {
            Assert.Equal(_planned, sheet.Rows.Select(r => r.Compartment.Id));
            foreach (var (compartment, f) in sheet.Rows.Select(r => (r.Compartment.Id, r.Figures)))
            {
                var slice = sheet.Slice;
                var parts = new[] { Cash(compartment), Bank(compartment) };
                Assert.Equal(parts.Sum(p => book.BalanceOn(p, slice.First.AddDays(-1)).Minor), f.CarriedIn.Minor);
                Assert.Equal(parts.Sum(p => book.BalanceOn(p, slice.Last).Minor), f.Left.Minor);
                Assert.Equal(f.Left, f.CarriedIn + f.Filled - f.Spent + f.MovedIn - f.MovedOut + f.OverShort
                    + f.Corrected);

                long Sum(Func<IMovement, bool> which) =>
                    movements.Where(m => m.OccurredOn >= slice.First && m.OccurredOn <= slice.Last && which(m))
                    .Sum(m => m.Postings.Where(p => p.Place.Compartment == compartment).Sum(p => p.Amount.Minor));
                Assert.Equal(Sum(m => m.Corrects?.ClosedDay is not null), f.Corrected.Minor);
                Assert.Equal(Sum(m => m.Kind == MovementKind.Fill && m.Corrects?.ClosedDay is null), f.Filled.Minor);
                Assert.Equal(-Sum(m => m.Kind is MovementKind.Spend or MovementKind.Refund
                    && m.Corrects?.ClosedDay is null), f.Spent.Minor);
                Assert.Equal(Sum(m => m.Kind == MovementKind.Settlement && m.Corrects?.ClosedDay is null),
                    f.OverShort.Minor);
                Assert.Equal(Sum(m => m.Kind is MovementKind.Transfer or MovementKind.Sweep
                    && m.Corrects?.ClosedDay is null), (f.MovedIn - f.MovedOut).Minor);

                var planned = InForce(plans, compartment, slice.Week.First);
                Assert.Equal(planned is { } weekly ? slice.Share(weekly) : null, f.Planned);
                Assert.Equal(f.Planned - f.Spent, f.Variance);
                Assert.Equal(Cumulative(movements, plans, since, compartment, slice), f.CumulativeVariance?.Minor);
            }

            Assert.Equal(sheet.Rows.Sum(r => r.Figures.Left.Minor), sheet.Totals.Left.Minor);
        }

        Assert.Equal(sheets[^1].Totals.Left, WeekSheet.Total(WeekSheet.Together(sheets).Select(r => r.Figures)).Left);
    }

    private static Money? InForce(PlanSet[] plans, string compartment, DateOnly weekBegins) => plans
        .Where(p => p.From <= weekBegins && p.Amounts.ContainsKey(compartment))
        .GroupBy(p => p.From).MaxBy(g => g.Key)?.Last().Amounts[compartment];

    private static long? Cumulative(IReadOnlyList<IMovement> movements, PlanSet[] plans, IReadOnlyList<WeekSlice> since,
        string compartment, WeekSlice until)
    {
        var weeks = since.Where(s =>
            s.Week.Year == until.Week.Year && s.First <= until.First
                && InForce(plans, compartment, s.Week.First) is not null).ToList();
        return weeks.Count == 0
            ? null
            : weeks.Sum(s => s.Share(InForce(plans, compartment, s.Week.First)!.Value).Minor + movements
            .Where(m => m.OccurredOn >= s.First && m.OccurredOn <= s.Last
                && m.Kind is MovementKind.Spend or MovementKind.Refund && m.Corrects?.ClosedDay is null)
            .Sum(m => m.Postings.Where(p => p.Place.Compartment == compartment).Sum(p => p.Amount.Minor)));
    }
}
