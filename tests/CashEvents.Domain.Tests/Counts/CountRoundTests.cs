using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

public class CountRoundTests
{
    private static readonly long Round = FirstLine;

    private static CountRoundOpened Opened(params string[] compartments) => new([.. compartments], null, null, false);

    private static CountInRound Figure(string compartment, decimal total, long? atLine = null, string by = "keeper",
        DateOnly? on = null) =>
        new(Round, new RecordCount(compartment, Holding.Cash, total, null, on, null, null), atLine, by);

    private static CountTaken Counted(string compartment, decimal expected, decimal counted, long atLine,
        string by = "keeper", DateOnly? on = null) =>
        Count(compartment, expected, counted, on) with { InRound = new CountedInRound(Round, atLine, by) };

    [Fact]
    public void A_round_counts_a_wallet_a_purpose_or_everything_that_is_in_use()
    {
        Given().When(new OpenCountRound("market-bag", null, false))
            .Then(new CountRoundOpened([Ferry, Market], "market-bag", null, false));
        Given().When(new OpenCountRound(null, Purpose.SinkingFund, true))
            .Then(new CountRoundOpened([Boat], null, Purpose.SinkingFund, true));
        Given(new CompartmentClosed(Van)).When(new OpenCountRound(null, null, false)).Then(Opened(Ferry, Market, Boat));
        Given().When(new OpenCountRound("market-bag", Purpose.Saving, false)).ThenRefused("nothing-to-count");
        Given().When(new OpenCountRound("market-bg", null, false)).ThenRefused("wallet-unknown", "wallet");
    }

    [Fact]
    public void A_compartment_is_in_one_open_round()
    {
        Given(Opened(Market, Van)).When(new OpenCountRound("strongbox", null, false)).ThenRefused("count-round-open");
        Given(Opened(Market, Van), new CountRoundClosed(Round, [], ""))
            .When(new OpenCountRound("strongbox", null, false))
            .Then(new CountRoundOpened([Van, Boat], "strongbox", null, false));
    }

    [Fact]
    public void A_figure_is_compared_with_the_balance_of_the_line_at_which_it_was_counted() =>
        Given(Opened(Ferry, Market), Fill(Ferry, 40m), Fill(Market, 9m), Spend(Ferry, 5m), Spend(Ferry, 2m, Sept(20)))
            .When(Figure(Ferry, 38m, atLine: Round + 1))
            .Then(Counted(Ferry, expected: 38m, counted: 38m, atLine: Round + 1));

    [Fact]
    public void A_figure_without_a_moment_is_of_now() =>
        Given(Opened(Ferry), Fill(Ferry, 40m), Spend(Ferry, 5m)).When(Figure(Ferry, 35m))
            .Then(Counted(Ferry, 35m, 35m, atLine: Round + 2));

    [Fact]
    public void What_is_settled_meanwhile_was_found_there_and_did_not_move()
    {
        // Counted by itself, settled, and then the figure of the same moment for the round: the coin is not gone twice.
        var given = Given(Opened(Ferry), Fill(Ferry, 40m), Count(Ferry, 40m, 39m), Settle(Round + 2, Ferry, -1m));

        given.When(Figure(Ferry, 39m, atLine: Round + 2))
            .Then(Counted(Ferry, expected: 39m, counted: 39m, atLine: Round + 2));
    }

    [Fact]
    public void A_count_that_was_taken_after_that_moment_stands() =>
        Given(Opened(Ferry), Fill(Ferry, 40m), Spend(Ferry, 5m), Count(Ferry, 35m, 34m))
            .When(Figure(Ferry, 40m, atLine: Round + 1)).ThenRefused("count-replaced", "atLine");

    [Fact]
    public void A_figure_that_was_written_wrong_is_written_again_for_the_same_moment() =>
        Given(Opened(Ferry), Fill(Ferry, 40m), Spend(Ferry, 5m))
            .When(Figure(Ferry, 4m, atLine: Round + 1)).Then(Counted(Ferry, 40m, 4m, atLine: Round + 1))
            .When(Figure(Ferry, 40m, atLine: Round + 1)).Then(Counted(Ferry, 40m, 40m, atLine: Round + 1))
            .When(new CloseCountRound(Round, null))
            .Then(new CountRoundClosed(Round,
                [new RoundResult(Ferry, new RoundCount(Round + 4, Round + 1, "keeper"), [Round + 3])], ""));

    [Fact]
    public void A_moment_lies_between_the_opening_of_the_round_and_now()
    {
        var given = Given(Opened(Ferry), Fill(Ferry, 40m));

        given.When(Figure(Ferry, 0m, atLine: Round)).Then(Counted(Ferry, 0m, 0m, atLine: Round));
        given.When(Figure(Ferry, 0m, atLine: Round - 1)).ThenRefused("before-round", "atLine");
        given.When(Figure(Ferry, 0m, atLine: Round + 2)).ThenRefused("after-last-line", "atLine");
        given.When(Figure(Ferry, 0m, atLine: Round - 1, on: Sept(23))).ThenRefused("before-round", "countedAt");
        given.When(Figure(Ferry, 0m, on: Sept(25))).ThenRefused("after-today", "countedAt");
    }

    [Fact]
    public void A_round_that_is_forgotten_keeps_a_bounded_number_of_movements()
    {
        var spends = Enumerable.Repeat(Spend(Ferry, 0.01m), RoundCompartment.MostMoved + 1);
        var given = Given([Opened(Ferry), Fill(Ferry, 40m), .. spends]);

        Assert.Equal(RoundCompartment.MostMoved, given.Book.CountRounds[Round].Find(Ferry)!.Moved.Length);
        given.When(Figure(Ferry, 40m, atLine: Round + 1)).ThenRefused("too-much-moved", "atLine");
        given.When(Figure(Ferry, 39.99m, atLine: Round + 2)).Then(Counted(Ferry, 39.99m, 39.99m, atLine: Round + 2));
    }

    [Fact]
    public void The_notes_of_a_figure_are_not_known_once_something_moved_after_it()
    {
        var figure = new CountInRound(Round,
            new RecordCount(Ferry, Holding.Cash, null, new Dictionary<string, long> { ["20"] = 2 }, null, null, null),
            Round + 1, "keeper");

        Assert.NotNull(After(Given(Opened(Ferry), Fill(Ferry, 40m)), figure).NotesOf(Ferry));
        Assert.NotNull(After(Given(Opened(Ferry), Fill(Ferry, 40m), Fill(Ferry, 1m, Sept(20))), figure).NotesOf(Ferry));
        Assert.Null(After(Given(Opened(Ferry), Fill(Ferry, 40m), Spend(Ferry, 5m)), figure).NotesOf(Ferry));
        Assert.Null(After(Given(Opened(Ferry), Fill(Ferry, 40m),
            new NotesExchanged(Market, Ferry, [new Pieces(Eur(10m), 2)], [new Pieces(Eur(20m), 1)], Today, "")), figure)
            .NotesOf(Ferry));
    }

    [Fact]
    public void The_key_that_wrote_a_figure_can_not_confirm_it()
    {
        var given = Given(Opened(Ferry, Market), Counted(Ferry, 0m, 0m, Round),
            Counted(Market, 0m, 1m, Round, by: "partner"));

        given.When(new ConfirmCounts(Round, [Ferry], "keeper")).ThenRefused("same-key", "compartments[0]");
        given.When(new ConfirmCounts(Round, [Market, Ferry], "partner")).ThenRefused("same-key", "compartments[0]");
        var once = given.When(new ConfirmCounts(Round, null, "partner"))
            .Then(new CountsConfirmed(Round, [new ConfirmedCount(Ferry, Round + 1)], "partner"));
        once.When(new ConfirmCounts(Round, [Ferry], "partner")).ThenNothing();
        once.When(new ConfirmCounts(Round, null, "partner")).ThenRefused("same-key");
        once.When(new ConfirmCounts(Round, null, "keeper"))
            .Then(new CountsConfirmed(Round, [new ConfirmedCount(Market, Round + 2)], "keeper"))
            .When(new ConfirmCounts(Round, null, "keeper")).ThenNothing();
        given.When(new ConfirmCounts(Round, [Van], "partner"))
            .ThenRefused("compartment-not-in-round", "compartments[0]");
    }

    [Fact]
    public void A_figure_that_is_counted_again_is_to_be_confirmed_again()
    {
        var given = Given(Opened(Ferry), Counted(Ferry, 0m, 0m, Round),
            new CountsConfirmed(Round, [new ConfirmedCount(Ferry, Round + 1)], "partner"),
            Counted(Ferry, 0m, 1m, Round + 2, by: "partner"));

        Assert.Equal(new RoundCount(Round + 3, Round + 2, "partner"), given.Book.CountRounds[Round].Find(Ferry)!.Count);
        given.When(new ConfirmCounts(Round, null, "keeper"))
            .Then(new CountsConfirmed(Round, [new ConfirmedCount(Ferry, Round + 3)], "keeper"));
    }

    [Fact]
    public void A_round_is_closed_when_all_is_counted_or_with_a_reason()
    {
        var half = Given(Opened(Ferry, Van), Counted(Ferry, 0m, 0m, Round));
        RoundResult ferry = new(Ferry, new RoundCount(Round + 1, Round, "keeper"), []);

        half.When(new CloseCountRound(Round, " ")).ThenRefused("count-round-unfinished", "reason");
        half.When(new CloseCountRound(Round, "The van is out"))
            .Then(new CountRoundClosed(Round, [ferry, new RoundResult(Van, null, [])], "The van is out"))
            .When(Figure(Van, 1m)).ThenRefused("count-round-not-open");
        Given(Opened(Ferry, Van), Counted(Ferry, 0m, 0m, Round), new CompartmentClosed(Van))
            .When(new CloseCountRound(Round, null))
            .Then(new CountRoundClosed(Round, [ferry, new RoundResult(Van, null, [])], ""));
    }

    [Fact]
    public void A_correction_of_what_was_in_the_book_changes_what_was_to_be_found_and_a_later_spend_does_not()
    {
        var before = Spend(Ferry, 5m);
        var after = Spend(Ferry, 7m);

        // The 5.00 were in the book when it was counted and turn out never to have been spent; the 7.00 came later, and
        // were wrong too.
        Given(Opened(Ferry), Fill(Ferry, 40m), before, after, Reversed(Round + 2, before), Reversed(Round + 3, after))
            .When(Figure(Ferry, 40m, atLine: Round + 2))
            .Then(Counted(Ferry, expected: 40m, counted: 40m, atLine: Round + 2));
    }

    private static Book After(Given given, ICommand command) => given.Book.Decide(command, Today).After;
}
