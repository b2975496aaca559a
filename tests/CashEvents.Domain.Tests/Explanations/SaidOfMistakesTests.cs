using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Explanations;

/// <summary>What is said of a kind of mistake: what it was, what points to it, where to look, what mends.</summary>
public class SaidOfMistakesTests
{
    // Lines 8 to 15; the ferry fares should then hold 163.82.
    private static readonly IBookEvent[] _usual =
    [
        Fill(Ferry, 200m, Sept(1)), Fill(Market, 200m, Sept(1)),
        Spend(Ferry, 4.82m, Sept(2), description: "Return"), Spend(Ferry, 4.82m, Sept(5), description: "Return"),
        Spend(Ferry, 17.36m, Sept(6), description: "Bicycle"), Spend(Market, 63.17m, Sept(7), description: "Fish"),
        Spend(Ferry, 9.18m, Sept(8), description: "Boat"), Spend(Market, 12.64m, Sept(9), description: "Cheese"),
    ];

    private const decimal Held = 200m - 4.82m - 4.82m - 17.36m - 9.18m;

    private static readonly IReplacement _written = Spend(Ferry, 5m, Sept(12), description: "Tea");

    // The count of the ferry fares found so much more than the book says, with these lines besides.
    private static Told Found(decimal over, params IBookEvent[] besides) => FoundOn(Today, over, besides);

    private static Told FoundOn(DateOnly day, decimal over, params IBookEvent[] besides)
    {
        var left = Held + besides.OfType<IMovement>().Where(m => m.OccurredOn <= day)
            .SelectMany(m => m.Postings).Where(p => p.Place == Cash(Ferry)).Sum(p => p.Amount.Minor) / 100m;
        return Told.Of([.. _usual, .. besides, Count(Ferry, left, left + over, day)]);
    }

    private static void Says(Told told, string code, string says, string why, string look)
    {
        var found = told.Explained(limit: 100).Explanations.FirstOrDefault(e => e.Code == code);
        Assert.True(found is not null, string.Join(' ', told.Codes()));
        Assert.Equal((says, why, look),
            (string.Join(" ", found.Mistakes.Select(m => m.Say(told.Book))), found.Why, found.Look));
    }

    [Fact]
    public void A_slip_of_the_pen_is_told_with_its_line()
    {
        const string look = "Hold line 16 against its ticket.";
        IBookEvent Line(decimal amount) => Spend(Ferry, amount, Sept(12), description: "Return");
        string Of(string amount) => $"In line 16 (spend of {amount} EUR on 2026-09-12, \"Return\")";

        Says(Found(0.18m, Line(5m)), "rounded-16-482", $"{Of("5.00")} the amount was rounded: it was 4.82 EUR.",
            "Line 16 says 5.00 EUR, a round amount, and with it that is 4.82 EUR.", look);
        Says(Found(-0.50m, Line(4.32m)), "wrongFigure-16-482", $"{Of("4.32")} one figure is wrong: it was 4.82 EUR.",
            "Of 4.32 EUR in line 16 one figure makes it 4.82 EUR.", look);
        Says(Found(3.60m, Line(8.42m)), "transposed-16-482", $"{Of("8.42")} two figures changed places: it was "
            + "4.82 EUR.", "It divides by nine, and 8.42 EUR in line 16 is 4.82 EUR with two figures changed.", look);
        Says(Found(43.38m, Line(48.20m)), "slid-16-482", $"{Of("48.20")} the point slid: it was 4.82 EUR.",
            "It divides by nine, and 48.20 EUR in line 16 is 4.82 EUR with its point moved.", look);
    }

    [Fact]
    public void A_line_that_is_wrong_in_another_way_is_told()
    {
        Says(Found(-18.36m, new Filled(Ferry, Holding.Cash, Eur(9.18m), Sept(12), "Boat")), "wrongDirection-16-spend",
            "The money of line 16 (fill of 9.18 EUR on 2026-09-12, \"Boat\") went the other way: it was a spend from "
                + "the cash of 'ferry-fares'.",
            "Half of it, 9.18 EUR, stands in line 16 with the other sign.",
            "Look at line 16: was it paid, or did it come back?");
        Says(Found(12.64m, Spend(Ferry, 12.64m, Sept(10), description: "Cheese")),
            "wrongCompartment-16-market-days-cash-ferry-fares-cash",
            "The money of line 16 (spend of 12.64 EUR on 2026-09-10, \"Cheese\") moved in another place: it was a "
                + "spend from the cash of 'market-days'.",
            "The whole of it, 12.64 EUR, stands in line 16, and the words and the amount fit the cash of "
                + "'market-days' as well.",
            "Ask from where line 16 was paid, and count the cash of 'market-days'.");
        Says(Found(9.18m, Spend(Ferry, 9.18m, Sept(8), description: "Boat")), "recordedTwice-16",
            "One movement was recorded twice, in line 14 and in line 16 (spend of 9.18 EUR on 2026-09-08, \"Boat\").",
            "The whole of it, 9.18 EUR, stands in line 16, and line 14 says the same.",
            "Look whether there are two tickets for 2026-09-08.");
        Says(Found(17.36m), "notMoved-12",
            "The money of line 12 (spend of 17.36 EUR on 2026-09-06, \"Bicycle\") did not move.",
            "The whole of it stands in line 12.", "Ask whether the money of line 12 was really moved.");
        Says(Found(22.18m), "notMoved-11-12",
            "The money of these lines did not move, or moved elsewhere: line 11 (spend of 4.82 EUR on 2026-09-05, "
                + "\"Return\"), line 12 (spend of 17.36 EUR on 2026-09-06, \"Bicycle\").",
            "Lines 11, 12 add up to it, and stand close together.",
            "Ask whether the money of line 11 was really moved.");
        Says(Found(-0.50m), "wrongChange-14-968",
            "Of line 14 (spend of 9.18 EUR on 2026-09-08, \"Boat\") too little change came back: 9.68 EUR left in "
                + "all. Any other spend since the last count that agreed may be the one.",
            "It is a note or coin, or what two of them differ by, and the change on 9.18 EUR in line 14 was large "
                + "enough.", "Think of the change, and count it in the shop next time.");
    }

    [Fact]
    public void A_line_on_the_wrong_side_of_the_count_is_told_with_its_distance()
    {
        IBookEvent Boat(int day) => Spend(Ferry, 9.18m, Sept(day), description: "Boat");
        string Of(int day, string side, int nearest) => $"The money of line 16 (spend of 9.18 EUR on 2026-09-{day}, "
            + $"\"Boat\") moved {side} the count, and the line stands on the wrong side of it. 2026-09-{nearest} is "
            + "the nearest day: put the right one in.";
        string Why(string side) => $"The whole of it, 9.18 EUR, stands in line 16, {side} the count.";
        const string look = "Look at the date on the ticket of line 16.";

        Says(FoundOn(Sept(20), -9.18m, Boat(21)), "wrongDay-16", Of(21, "before", 19), Why("a day after"), look);
        Says(FoundOn(Sept(20), -9.18m, Boat(23)), "wrongDay-16", Of(23, "before", 19), Why("3 days after"), look);
        Says(FoundOn(Sept(20), 9.18m, Boat(19)), "wrongDay-16", Of(19, "after", 21), Why("a day before"), look);
        Says(FoundOn(Sept(20), 9.18m, Boat(18)), "wrongDay-16", Of(18, "after", 21), Why("2 days before"), look);
    }

    [Fact]
    public void A_count_that_was_wrong_is_told()
    {
        const string again = " Look through the notes and coins once more before it is written.";
        const string look = "Count the notes and coins once more, and part those that stick together.";

        Says(Found(-20m), "piecesMiscounted-0-2000",
            "In the count one 20.00 EUR was missed; two may have stuck together." + again,
            "It is just one 20.00 EUR note or coin.", look);
        Says(Found(20m), "piecesMiscounted-2000-0", "In the count one 20.00 EUR was counted twice." + again,
            "It is just one 20.00 EUR note or coin.", look);
        Says(Found(-10m), "wrongDenomination-1000-2000", "In the count a 20.00 EUR was taken for a 10.00 EUR." + again,
            "It is what a 20.00 EUR and a 10.00 EUR differ by.", look);
        Total(136.82m, "transposed", "two figures changed places");
        Total(1638.20m, "slid", "the point slid");
        Total(163m, "rounded", "the total was rounded");
        Total(193.82m, "wrongFigure", "one figure is wrong");

        static void Total(decimal written, string kind, string what) => Says(Found(written - Held),
            $"{kind}-16-16382",
            $"In the count, which says {written:0.00} EUR, {what}: it was 163.82 EUR. Count once more before it is "
                + "written.",
            $"The total that was written, {written:0.00} EUR, is what should be there, 163.82 EUR, with one slip of "
                + "the pen.", "Count once more, and read the total from what was noted.");
    }

    // The only note that there should have been.
    [Fact]
    public void A_note_as_large_as_all_that_should_be_there_may_have_been_missed() =>
        Assert.Contains("piecesMiscounted-0-2000", Told.Of(Fill(Ferry, 20m, Sept(1)), Count(Ferry, 20m, 0m)).Codes());

    // A count on the 15th agreed: what stands before it is a twentieth as likely to be wrong (docs/explanations.md),
    // here a line of the same weekday, words and amount as one that stands after it.
    [Fact]
    public void A_line_before_a_count_that_agreed_is_a_twentieth_as_likely_to_belong_elsewhere()
    {
        IBookEvent Cheese(int day) => Spend(Ferry, 12.64m, Sept(day), description: "Cheese");
        var told = Told.Of([.. _usual, Cheese(14), Count(Ferry, Held - 12.64m, Held - 12.64m, Sept(15)), Cheese(21),
            Count(Ferry, Held - 25.28m, Held - 12.64m)]);
        decimal Chance(long line) =>
            told.Likelihood($"wrongCompartment-{line}-market-days-cash-ferry-fares-cash");

        Assert.Equal(0.05m, Chance(16) / Chance(18), 2);
    }

    private const string AnyDay = " The day is the likeliest of those before the count: put the right one in. If it "
        + "was on the day of the count, write it and count again.";

    [Fact]
    public void What_was_not_recorded_is_told_with_what_is_known_of_its_amount()
    {
        const string from = "from the cash of 'ferry-fares' was not recorded.";

        Says(Found(-9.18m), "notRecorded-spend-ferry-fares-cash-918",
            $"A spend of 9.18 EUR {from} \"Boat\" had that amount once before." + AnyDay,
            "The whole of it, 9.18 EUR, is an amount that was seen here once before.",
            "Look for a ticket of 9.18 EUR, and ask who had the purse.");
        Says(Found(-4.82m), "notRecorded-spend-ferry-fares-cash-482",
            $"A spend of 4.82 EUR {from} \"Return\" had that amount 2 times before." + AnyDay,
            "The whole of it, 4.82 EUR, is an amount that was seen here 2 times before.",
            "Look for a ticket of 4.82 EUR, and ask who had the purse.");
        Says(Found(-3.33m), "notRecorded-spend-ferry-fares-cash-333", $"A spend of 3.33 EUR {from}" + AnyDay,
            "The whole of it, 3.33 EUR, may be one spend that no line before the count has.",
            "Look for a ticket of 3.33 EUR, and ask who had the purse.");
        Says(Found(17.36m), "notRecorded-refund-ferry-fares-cash-1736",
            "A refund of 17.36 EUR to the cash of 'ferry-fares' was not recorded. \"Bicycle\" had that amount once "
                + "before." + AnyDay,
            "The whole of it, 17.36 EUR, is an amount that was seen here once before.",
            "Ask whether something was taken back for 17.36 EUR.");
        Says(Found(-30m), "notRecorded-transfer-ferry-fares-cash-market-days-cash-3000",
            "A transfer of 30.00 EUR from the cash of 'ferry-fares' to the cash of 'market-days' was not recorded."
                + AnyDay, "The whole of it may have gone to or come from the cash of 'market-days'.",
            "Ask who moved money, and count the cash of 'market-days'.");
        Says(Found(30m), "notRecorded-transfer-market-days-cash-ferry-fares-cash-3000",
            "A transfer of 30.00 EUR from the cash of 'market-days' to the cash of 'ferry-fares' was not recorded."
                + AnyDay, "The whole of it may have gone to or come from the cash of 'market-days'.",
            "Ask who moved money, and count the cash of 'market-days'.");
    }

    [Fact]
    public void Since_a_count_that_agreed_the_tickets_are_looked_for()
    {
        var told = Told.Of([.. _usual, Count(Ferry, Held, Held, Sept(20)), Count(Ferry, Held, Held - 3.33m)]);

        Says(told, "notRecorded-spend-ferry-fares-cash-333",
            "A spend of 3.33 EUR from the cash of 'ferry-fares' was not recorded." + AnyDay,
            "The whole of it, 3.33 EUR, may be one spend that no line before the count has.",
            "Look for a ticket of 3.33 EUR since 2026-09-20, and ask who had the purse.");
    }

    [Fact]
    public void What_may_be_there_already_is_told_beside_what_is_missing() =>
        Says(FoundOn(Sept(20), -9.18m, Spend(Ferry, 9.18m, Sept(21), description: "Ferry")),
            "notRecorded-spend-ferry-fares-cash-918-beside-16",
            "A spend of 9.18 EUR from the cash of 'ferry-fares' was not recorded. \"Boat\" had that amount once "
                + "before. It may be line 16 (spend of 9.18 EUR on 2026-09-21, \"Ferry\"): is it the same?" + AnyDay,
            "The whole of it, 9.18 EUR, is an amount that was seen here once before. But line 16 may be this very "
                + "spend.",
            "Look first whether line 16 is the same spend.");

    [Fact]
    public void Several_lines_that_it_may_be_are_each_named()
    {
        var told = Found(-5m);
        var one = new Miswritten(MistakeKind.WrongDay, 17, _written, Spend(Ferry, 5m, Sept(19)));
        var missing = new NotRecorded(Spend(Ferry, 5m, Sept(19)), 0, Count(Ferry, 9m, 4m))
        { MayBe = [one, new Miswritten(MistakeKind.WrongDay, 18, _written, Spend(Ferry, 5m, Sept(19)))] };

        Assert.Equal("A spend of 5.00 EUR from the cash of 'ferry-fares' was not recorded. It may be line 17 (spend "
            + "of 5.00 EUR on 2026-09-12, \"Tea\"): is it the same? Or line 18. On that day a line is taken to have "
            + "happened after the count, so the count is written once more after it.", missing.Say(told.Book));
        Assert.Equal("notRecorded-spend-ferry-fares-cash-500-beside-17-18", missing.Code);
    }

    // How a mistake is named in its code, what it makes of the place, and for what reason it is put right.
    [Fact]
    public void What_mends_a_line_gives_its_reason()
    {
        var told = Found(-5m);
        (MistakeKind Kind, IReplacement Right, string Code, string Reason)[] cases =
        [
            (MistakeKind.WrongDirection, new Filled(Ferry, Holding.Cash, Eur(5m), Sept(12), "Tea"),
                "wrongDirection-16-fill", "Recorded in the wrong direction"),
            (MistakeKind.WrongCompartment, Spend(Market, 5m, Sept(12)),
                "wrongCompartment-16-market-days-cash-ferry-fares-cash", "Recorded in the wrong place"),
            (MistakeKind.WrongHolding, Spend(Ferry, 5m, Sept(12), Holding.Bank),
                "wrongHolding-16-ferry-fares-bank-ferry-fares-cash", "Recorded in the wrong place"),
            (MistakeKind.WrongDay, Spend(Ferry, 5m, Sept(25)), "wrongDay-16", "Dated on the wrong side of the count"),
            (MistakeKind.Rounded, Spend(Ferry, 4.82m, Sept(12)), "rounded-16-482", "The amount was rounded"),
            (MistakeKind.WrongFigure, Spend(Ferry, 6m, Sept(12)), "wrongFigure-16-600", "One figure was wrong"),
            (MistakeKind.Transposed, Spend(Ferry, 6m, Sept(12)), "transposed-16-600", "Two figures changed places"),
            (MistakeKind.Slid, Spend(Ferry, 50m, Sept(12)), "slid-16-5000", "The point slid"),
            (MistakeKind.WrongChange, Spend(Ferry, 4m, Sept(12)), "wrongChange-16-400", "The change was wrong"),
        ];

        Assert.All(cases, c =>
        {
            var mistake = new Miswritten(c.Kind, 16, _written, c.Right);
            var mend = Assert.IsType<AmendLine>(Assert.Single(new Explanation([mistake], [], 0m).Mend(told.Book)));
            Assert.Equal((c.Code, c.Reason, 16L, c.Right.OccurredOn == Sept(12) ? null : c.Right.OccurredOn),
                (mistake.Code, mend.Reason, mend.Line, ((IReplacementCommand)mend.Replacement).OccurredOn));
        });
        Assert.Equal("Of line 16 (spend of 5.00 EUR on 2026-09-12, \"Tea\") too much change came back: 4.00 EUR left "
            + "in all. Any other spend since the last count that agreed may be the one.",
            new Miswritten(MistakeKind.WrongChange, 16, _written, Spend(Ferry, 4m, Sept(12))).Say(told.Book));
        Assert.Equal("The money of line 16 (transfer of 3.00 EUR on 2026-09-12) went the other way: it was a transfer "
            + "from the cash of 'market-days' and to the cash of 'ferry-fares'.",
            new Miswritten(MistakeKind.WrongDirection, 16, Transfer(Cash(Ferry), Cash(Market), 3m, Sept(12)),
                Transfer(Cash(Market), Cash(Ferry), 3m, Sept(12))).Say(told.Book));
    }

    [Fact]
    public void What_did_not_move_is_reversed_line_by_line()
    {
        ImmutableArray<(long, IReplacement)> lines = [(10, Spend(Ferry, 4m)), (11, Spend(Ferry, 5m)),
            (12, Fill(Van, 1m)), (13, Spend(Van, 1m))];
        var needless = new NeedlesslyRecorded(MistakeKind.NotMoved, lines, null);
        var twice = new NeedlesslyRecorded(MistakeKind.RecordedTwice, lines[..1], 9);

        IEnumerable<(long, string)> Mend(Mistake mistake) => new Explanation([mistake], [], 0m).Mend(Found(0m).Book)
            .Cast<ReverseLine>().Select(r => (r.Line, r.Reason));
        Assert.Equal([(10, "The money did not move"), (11, "The money did not move"), (12, "The money did not move"),
            (13, "The money did not move")], Mend(needless));
        Assert.Equal([(10, "Recorded twice, also in line 9")], Mend(twice));
        Assert.Equal([new Posting(Cash(Ferry), Eur(9m))], needless.Effects);
        Assert.Equal([10, 9], twice.Lines);
        Assert.Equal(("notMoved-10-11-12-13", "recordedTwice-10"), (needless.Code, twice.Code));
    }

    [Fact]
    public void Two_mistakes_are_told_one_after_the_other()
    {
        // 9.18 was left out and line 16 written twice as dear: alone neither makes it.
        var told = Found(-9.18m + 3.60m, Spend(Ferry, 8.42m, Sept(12), description: "Return"));
        var pair = told.Explained(limit: 100).Explanations
            .Single(e => e.Code is "notRecorded-spend-ferry-fares-cash-918+transposed-16-482"
                or "transposed-16-482+notRecorded-spend-ferry-fares-cash-918");

        Assert.Equal(
            "No one of them makes it alone. " + string.Join(" ", pair.Mistakes.Select(m => m is NotRecorded
                ? "9.18 EUR short: the whole of it, 9.18 EUR, is an amount that was seen here once before."
                : "3.60 EUR over: it divides by nine, and 8.42 EUR in line 16 is 4.82 EUR with two figures changed.")),
            pair.Why);
    }

    [Fact]
    public void An_explanation_that_is_none_or_of_a_count_that_is_settled_is_refused()
    {
        var told = Found(-9.18m);
        new Given(told.Book).Refuses((new SettleByExplanation(16, "slid-3", null), "explanation-unknown",
            "explanation",
            "'slid-3' does not explain count 16 as the book stands: <ExplainCount 16> lists what does."));
        new Given(told.Book).Refuses((new SettleByExplanation(16, "x", new Explanation([], [], 0m)),
            "count-still-disagrees", "explanation",
            "With this written count 16 would still disagree, since the book has moved on: ask for its explanations "
                + "again."));
        var settled = told.And([Settle(16, Ferry, -9.18m)]);
        Assert.Equal(("count-settled", "Count 16 is settled already: what made it disagree was accepted."),
            Assert.Throws<RefusalException>(() => settled.Explained()).Refusal is var refused
                ? (refused.Code, refused.Detail) : default);
    }

    [Fact]
    public void The_count_that_would_decide_is_asked_for()
    {
        Assert.Equal("Count the cash of 'ferry-fares' once more: if it is another total, the count was wrong; if not, "
            + "that is out.", Found(-20m).Explained().Next!.Says);
        Assert.Equal("Count the cash of 'market-days' too: if it is short by 12.64 EUR, that is where it went wrong; "
            + "if it agrees, that is out.",
            Found(12.64m, Spend(Ferry, 12.64m, Sept(10), description: "Cheese")).Explained().Next!.Says);
    }
}
