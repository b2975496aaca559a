using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

public class ExplainedCountTests
{
    [Fact]
    public void A_line_that_was_corrected_is_not_offered_again()
    {
        var spend = Spend(Ferry, 9.80m, Sept(10));
        var book = Told.Of(Fill(Ferry, 100m, Sept(1)), spend, Reversed(FirstLine + 1, spend),
            Spend(Ferry, 9.80m, Sept(10)) with { Corrects = new Correction(FirstLine + 1) },
            Count(Ferry, 90.20m, 91.10m));

        Assert.Contains($"transposed-{FirstLine + 3}-890", book.Codes());
        Assert.DoesNotContain($"transposed-{FirstLine + 1}-890", book.Codes());
    }

    [Fact]
    public void A_line_of_the_day_that_was_written_after_the_count_is_not_looked_at()
    {
        var book = Told.Of(Fill(Ferry, 100m, Sept(1)), Count(Ferry, 100m, 100.90m), Spend(Ferry, 9.80m));

        Assert.DoesNotContain($"transposed-{FirstLine + 2}-890", book.Codes(FirstLine + 1));
    }

    [Fact]
    public void A_line_of_the_day_that_was_written_before_the_figure_of_a_round_but_after_its_count_is_not_looked_at()
    {
        var (opened, atLine) = (FirstLine + 1, FirstLine + 2);
        var counted = Count(Ferry, 93.70m, 94.60m) with { InRound = new CountedInRound(opened, atLine, "keeper") };
        var book = Told.Of(Fill(Ferry, 100m, Sept(1)), new CountRoundOpened([Ferry], null, null, false),
            Spend(Ferry, 6.30m),
            Spend(Ferry, 9.80m), counted);

        Assert.Equal(2, book.Explained().LinesLookedAt);
        Assert.DoesNotContain($"transposed-{FirstLine + 3}-890", book.Codes());
    }

    [Fact]
    public void A_line_older_than_a_week_before_a_count_that_agreed_is_not_looked_at_and_a_younger_one_weighs_less()
    {
        Told Since(int day) => Told.Of(Fill(Ferry, 100m, Sept(1)), Spend(Ferry, 9.80m, Sept(day)),
            Spend(Ferry, 3.10m, Sept(14)), Count(Ferry, 87.10m, 87.10m, Sept(14)), Count(Ferry, 87.10m, 88.00m));
        decimal Likelihood(Told book) =>
            book.Explained().Explanations.FirstOrDefault(
                e => e.Mistakes is [Miswritten { Kind: MistakeKind.Transposed } m]
                && m.Written.Postings.Single().Amount == -Eur(9.80m))?.Likelihood ?? 0m;

        var after = Told.Of(Fill(Ferry, 100m, Sept(1)), Spend(Ferry, 3.10m, Sept(14)),
            Count(Ferry, 96.90m, 96.90m, Sept(14)), Spend(Ferry, 9.80m, Sept(15)), Count(Ferry, 87.10m, 88.00m));
        Assert.Equal(0m, Likelihood(Since(6)));
        Assert.InRange(Likelihood(Since(7)), 0.0001m, Likelihood(after) - 0.0001m);
    }

    [Fact]
    public void What_came_before_a_count_that_was_settled_is_not_looked_at_unless_the_settlement_is_undone()
    {
        var settlement = Settle(FirstLine + 2, Ferry, 0.90m, Sept(10));
        IBookEvent[] lines = [Fill(Ferry, 100m, Sept(1)), Spend(Ferry, 9.80m, Sept(2)),
            Count(Ferry, 90.20m, 91.10m, Sept(10)), settlement];

        var settled = Explained(Told.Of([.. lines, Spend(Ferry, 3.10m, Sept(20)), Count(Ferry, 88m, 88.90m)]));
        var undone = Explained(Told.Of([.. lines, Reversed(FirstLine + 3, settlement), Spend(Ferry, 3.10m, Sept(20)),
            Count(Ferry, 87.10m, 88m)]));

        Assert.Equal((Sept(10), 1), (settled.Since, settled.LinesLookedAt));
        Assert.Equal((null, 3), ((DateOnly?)undone.Since, undone.LinesLookedAt));
    }

    [Fact]
    public void What_somebody_carries_is_explained_as_what_lies_in_its_place_is()
    {
        // Lines: fill, handover, spend, count.
        var carried = Spend(Ferry, 9.80m) with { Carried = new CarriedChange(FirstLine + 1, -Eur(9.80m)) };
        Told Carrying(decimal counted) => Told.Of(
            Fill(Ferry, 100m, Sept(1)), new HandedOver(Ferry, "partner", Eur(100m), Sept(10), ""),
            carried with { OccurredOn = Sept(12) }, Count(Ferry, 0m, counted));

        var transposed = Carrying(91.10m);
        var amended = Then(transposed,
            Assert.Single(Explained(transposed).Explanations, e => e.Code == $"transposed-{FirstLine + 2}-890")).Then;
        Assert.Equal((Eur(91.10m), Eur(91.10m)), (amended.Compartments[Ferry].Cash, amended.Carried(Ferry)));

        var forgotten = Carrying(80.40m);
        var recorded = Then(forgotten,
            Assert.Single(Explained(forgotten).Explanations,
                e => e.Code == "notRecorded-spend-ferry-fares-cash-980")).Then;
        Assert.Equal((Eur(80.40m), Eur(80.40m)), (recorded.Compartments[Ferry].Cash, recorded.Carried(Ferry)));
    }

    [Fact]
    public void A_settled_count_agreed()
    {
        var book = Told.Of(Fill(Ferry, 100m, Sept(1)), Spend(Ferry, 9.80m, Sept(2)),
            Count(Ferry, 90.20m, 90m, Sept(12)),
            Settle(FirstLine + 2, Ferry, -0.20m, Sept(12)), Count(Ferry, 90m, 90.90m));

        Assert.Equal(Sept(12), book.Explained().Since);
        Assert.DoesNotContain($"transposed-{FirstLine + 1}-890", book.Codes());
    }

    [Fact]
    public void A_mistake_in_a_closed_month_is_put_right_in_the_open_one()
    {
        var book = Told.Of(Fill(Ferry, 100m, new DateOnly(2026, 8, 1)), Spend(Ferry, 9.80m, new DateOnly(2026, 8, 20)),
            new MonthClosed(Month.Of(new DateOnly(2026, 8, 1)), [], "Counted later"), Count(Ferry, 90.20m, 91.10m));

        var transposed = book.Explained().Explanations.Single(e => e.Code == $"transposed-{FirstLine + 1}-890");

        Assert.All(Then(book, transposed).Lines,
            l => Assert.Equal(Today, Assert.IsAssignableFrom<IMovement>(l.Line).OccurredOn));
    }

    [Fact]
    public void A_movement_that_would_leave_too_little_on_some_day_is_not_listed()
    {
        // All that there was left on the 22nd; the day before the count is the only one that has it again.
        var book = Told.Of(Fill(Ferry, 10m, Sept(1)), Spend(Ferry, 10m, Sept(22)), Fill(Ferry, 20m, Sept(23)),
            Count(Ferry, 20m, 8m));

        var missing = book.Explained().Explanations.Single(e => e.Code == "notRecorded-spend-ferry-fares-cash-1200");

        Assert.Equal(Sept(23), Assert.IsType<NotRecorded>(Assert.Single(missing.Mistakes)).Movement.OccurredOn);
        Assert.DoesNotContain(
            Told.Of(Fill(Ferry, 10m, Sept(1)), Count(Ferry, 10m, 0m), Count(Ferry, 10m, 0m), Spend(Ferry, 4m)).Codes(),
            code => code == "notRecorded-spend-ferry-fares-cash-1000");
    }

    [Fact]
    public void What_would_make_a_count_disagree_that_agrees_is_not_listed()
    {
        // Without the transfer the ferry fares would agree, and the market days would not any more.
        var book = Told.Of(Fill(Ferry, 50m, Sept(1)), Fill(Market, 50m, Sept(1)),
            Transfer(Cash(Ferry), Cash(Market), 7.35m, Sept(10)), Count(Market, 57.35m, 57.35m),
            Count(Ferry, 42.65m, 50m));

        Assert.DoesNotContain(book.Codes(), code => code.StartsWith("notMoved", StringComparison.Ordinal));
    }

    [Fact]
    public void An_explanation_that_the_book_has_moved_on_from_is_refused()
    {
        var book = Told.Of(Fill(Ferry, 100m, Sept(1)), Spend(Ferry, 9.80m, Sept(10)), Count(Ferry, 90.20m, 91.10m));
        var explanation = book.Explained().Explanations.Single(e => e.Code == $"transposed-{FirstLine + 1}-890");
        SettleByExplanation Settle(Explanation? e) => new(FirstLine + 2, $"transposed-{FirstLine + 1}-890", e);

        var settled = book.When(Settle(explanation));
        settled.ThenHolds((Cash(Ferry), 91.10m));
        book.When(new RecordSpend(Ferry, Domain.Books.Holding.Cash, 2m, Sept(11), null))
            .Then(Spend(Ferry, 2m, Sept(11))).When(Settle(explanation))
            .ThenRefused("count-still-disagrees", "explanation");
        book.When(Settle(null)).ThenRefused("explanation-unknown", "explanation");
    }

    // By hand from the formulas of docs/explanations.md.
    [Fact]
    public void Two_likelihoods_are_to_each_other_as_the_documented_weights_are()
    {
        var counted = Count(Ferry, 60m, 50m) with { Pieces = [new Pieces(Eur(20m), 2), new Pieces(Eur(10m), 1)] };
        var book = Told.Of(Fill(Ferry, 60m, Sept(1)), counted);

        // Three pieces of two values; twelve values and four notes up to the 60.00 that should be there.
        const decimal misread = 0.025m * ((0.25m * 1 / 3) + (0.25m / 2));
        const decimal missed = 0.055m * 0.7m * ((0.7m * 1.3m / (3 + (12 * 0.3m))) + (0.3m / 4));

        Assert.Equal(missed / misread,
            book.Likelihood("piecesMiscounted-0-1000") / book.Likelihood("wrongDenomination-1000-2000"), 2);
    }

    [Fact]
    public void Every_explanation_makes_the_count_agree_and_their_likelihoods_make_one_with_what_is_not_listed() =>
    Cases.Sample(c =>
    {
        var book = Told.Of([.. c.Lines, Count(Ferry, 0m, c.Counted)]);
        var explained = book.Explained();

        Assert.Equal(Currency.Of("EUR").ToDecimal(explained.Count.Difference),
            c.Counted - Currency.Of("EUR").ToDecimal(book.Book.Compartments[Ferry].Cash));
        Assert.Equal(explained.Explanations.Select(e => e.Code).Distinct().Count(), explained.Explanations.Length);
        Assert.Equal(explained.Explanations.Select(e => e.Likelihood).OrderDescending(),
            explained.Explanations.Select(e => e.Likelihood));
        Assert.All(explained.Explanations, e => Assert.InRange(e.Likelihood, 0m, 1m));
        Assert.InRange(explained.Explanations.Sum(e => e.Likelihood) + explained.SomethingElse, 0.998m, 1.002m);
        Assert.All(explained.Explanations, explanation =>
        {
            Assert.Equal(explained.Count.Difference,
                explanation.Mistakes.SelectMany(m => m.Effects).Where(e => e.Place == Cash(Ferry))
                    .Aggregate(Money.Zero, (sum, e) => sum + e.Amount));
            Assert.Equal(Money.Zero, Then(book, explanation).Then.CashCount(Ferry)!.Difference);
            Assert.NotEmpty(explanation.Mistakes.Select(m => m.Say(book.Book)));
        });
    }, iter: GeneratedCases.Of(200));

    [Fact]
    public void The_mistake_that_was_made_is_among_the_explanations() =>
    Cases.Where(c => c.Code is not null && c.Lines.Sum(l => Change(l)) != c.Counted).Sample(c =>
    {
        var explained = Explained(Told.Of([.. c.Lines, Count(Ferry, 0m, c.Counted)]), limit: 50);

        Assert.Contains(explained.Explanations, e => e.Mistakes.Any(m => m.Code == c.Code));
    }, iter: GeneratedCases.Of(200));

    // A month of ferry fares in which one known mistake was made.
    private static readonly Gen<(IBookEvent[] Lines, decimal Counted, string? Code)> Cases = Gen.Select(
        Gen.Select(Gen.Int[40, 300], Gen.Int[2, 23], Gen.Int[0, 2]).Array[3, 12], Gen.Int[0, 4], Gen.Int[0, 100])
        .Select((spends, mistake, which) =>
    {
        string[] words = ["Return", "Single", "Bus"];
        var truth = new List<IBookEvent> { Fill(Ferry, 400m, Sept(1)) };
        truth.AddRange(spends.OrderBy(s => s.Item2)
            .Select(s => Spend(Ferry, s.Item1 * 0.05m, Sept(s.Item2), description: words[s.Item3])));
        var counted = truth.Sum(Change);
        var at = 1 + (which % spends.Length);
        var line = (Spent)truth[at];
        var written = truth.ToList();
        string? code = null;
        switch (mistake)
        {
            case 0:
                written.RemoveAt(at);
                code = $"notRecorded-spend-ferry-fares-cash-{line.Amount.Minor}";
                break;
            case 1:
                written.Insert(at + 1, line);
                break;
            case 2:
                written[at] = new Filled(Ferry, line.Holding, line.Amount, line.OccurredOn, line.Description);
                code = $"wrongDirection-{FirstLine + at}-spend";
                break;
            case 3 when Slip.ItemsOf(line.Amount).FirstOrDefault() is { Carried.Minor: > 0 } slip:
                written[at] = line with { Amount = slip.Item };
                code = $"{(slip.Kind == SlipKind.Slide ? "slid" : "transposed")}-{FirstLine + at}-{line.Amount.Minor}";
                break;
            default:
                counted += 0.10m;
                break;
        }

        return (written.ToArray(), counted, code);
    });

    private static decimal Change(IBookEvent line) =>
        Currency.Of("EUR").ToDecimal(((IMovement)line).Postings.Aggregate(Money.Zero, (sum, p) => sum + p.Amount));

    private static ExplainedCount Explained(Told told, int limit = 20) => told.Explained(limit: limit);

    private static Rehearsal Then(Told told, Explanation explanation) => told.Rehearsed(explanation);
}
