using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

/// <summary>What is refused of counts, rounds, exchanges and the bank's statement, in which words.</summary>
public class RefusedCountsTests
{
    private static RecordCount Counts(decimal? total, IReadOnlyDictionary<string, long>? pieces = null,
        string compartment = Ferry, Holding holding = Holding.Cash, DateOnly? on = null) =>
        new(compartment, holding, total, pieces, on, "", "");

    private static Dictionary<string, long> Pieces(params (string Value, long Count)[] pieces) =>
        pieces.ToDictionary(p => p.Value, p => p.Count);

    private static RecordExchange Exchanges((string, long)[] gives, (string, long)[] takes, string with = Market) =>
        new(Ferry, with, Pieces(gives), Pieces(takes), null, "");

    [Fact]
    public void A_figure_that_cannot_be() => Given(Fill(Ferry, 5m)).Refuses(
        (Counts(null), "total-missing", "total", "Send `total`, or `denominations`."),
        (Counts(-0.01m), "total-negative", "total", "`total` is what was found: zero or more."),
        (Counts(null, Pieces(("5", 1)), holding: Holding.Bank), "denominations-in-bank", "denominations",
            "Money in the bank has no notes or coins: send `total`."),
        (Counts(5m, compartment: "oars"), "compartment-unknown", "compartment",
            "There is no compartment 'oars'. <ListCompartments> lists them."),
        (Counts(null, Pieces(("5", 1_000_001))), "pieces-out-of-range", "denominations.5",
            "The number of pieces is 0 to 1000000, not 1000001."),
        (Counts(null, Pieces(("3", 1))), "denomination-unknown", "denominations.3",
            "EUR has no note or coin of '3'. It has 500, 200, 100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, "
                + "0.01."),
        (Counts(5m, on: Sept(25)), "after-today", "occurredOn",
            "2026-09-25 is after the household's today, 2026-09-24: write what has happened, on the day it did."));

    [Fact]
    public void Notes_of_a_currency_that_are_not_known_are_not_counted_by_denomination() =>
        Given(new HouseholdDescribed("Quay", "SEK", "Europe/Stockholm", DayOfWeek.Monday)).Refuses(
            (Counts(null, Pieces(("1000", 1))), "denominations-unknown", "denominations",
                "The notes and coins of SEK are not listed here: keep to amounts without denominations, such as a "
                    + "count's `total`."));

    // As many pieces of each value as may be written: no count has to be refused for its size.
    [Fact]
    public void No_notes_that_can_be_written_come_to_more_than_a_line_carries() => Assert.All(Currency.All, currency =>
        Assert.True(Denominations.Total(Denominations.Of(currency)
            .Select(face => new Pieces(currency.Exactly(face, "face"), Denominations.MostPieces))) <= Money.Largest));

    [Fact]
    public void A_settlement_that_cannot_be()
    {
        var given = Given(Fill(Ferry, 5m, Sept(1)), Count(Ferry, 5m, 4m, Sept(20)), Count(Market, 0m, 0m, Sept(20)),
            Count(Van, 0m, 2m, Sept(20)));
        var count = FirstLine + 1;
        SettleCount Settles(long of, string reason = "lost", DateOnly? on = null) => new(of, reason, on);

        given.Refuses(
            (Settles(3), "count-not-open", null,
                "There is no count 3 that could be settled: either no such count was taken, or a count of the same "
                    + "place that was taken later stands in its stead."),
            (Settles(count, ""), "words-missing", "reason", "`reason` is needed: write a few words."),
            (Settles(count + 1), "nothing-to-settle", null,
                "Count 10 agrees with the book: there is no over or short to post."),
            (Settles(count, on: Sept(19)), "before-count", "occurredOn",
                "The count was taken on 2026-09-20: settle it on that day or later."));
        given.When(Settles(count)).ThenWritten().Refuses(
            (Settles(count), "count-settled", null, "Count 9 is settled already."));
        Given(Fill(Ferry, 5m, Sept(1)), Count(Ferry, 5m, 1m, Sept(20)), Spend(Ferry, 4m, Sept(21))).Refuses(
            (Settles(count), "not-enough", "occurredOn",
                "The cash of 'ferry-fares' holds 1.00 EUR: 3.00 EUR is missing. No other compartment could give it."));
        given.When(new SettleCount(count + 2, "found", Sept(20))).Then(Settle(count + 2, Van, 2m, Sept(20), "found"));
    }

    [Fact]
    public void An_exchange_that_cannot_be()
    {
        var counted = new CountTaken(Ferry, Holding.Cash, Eur(50m), Eur(50m),
            [new Pieces(Eur(20m), 2), new Pieces(Eur(5m), 2)], Today, "", "");
        var given = Given(Fill(Ferry, 50m, Sept(1)), Fill(Market, 20m, Sept(1)), counted);

        given.Refuses(
            (Exchanges([("20", 1)], [("10", 2)], with: Ferry), "same-compartment", "with",
                "'ferry-fares' exchanges with itself here: name the other compartment."),
            (Exchanges([("20", 1)], [("10", 2)], with: "oars"), "compartment-unknown", "with",
                "There is no compartment 'oars'. <ListCompartments> lists them."),
            (Exchanges([("20", 0)], []), "exchange-empty", "gives",
                "`gives` names no pieces: write at least one, such as {\"20\": 1}."),
            (Exchanges([("20", 1)], [("10", 1)]), "exchange-unequal", "takes",
                "20.00 EUR is given and 10.00 EUR taken: an exchange is of equal worth. Money that moves is a "
                    + "transfer."),
            (Exchanges([("20", 3)], [("10", 6)]), "not-enough", "gives",
                "The cash of 'ferry-fares' holds 50.00 EUR: 10.00 EUR is missing. 'market-days' could give it."),
            (Exchanges([("20", 2)], [("10", 4)]), "not-enough", "takes",
                "The cash of 'market-days' holds 20.00 EUR: 20.00 EUR is missing. 'ferry-fares' could give it."),
            (Exchanges([("10", 1), ("5", 2)], [("20", 1)]), "notes-not-there", "gives",
                "By count 10 and the exchanges since, 'ferry-fares' lacks 1 of 10.00 EUR: write the notes that were "
                    + "there, or count it again."),
            (Exchanges([("10", 1), ("1", 10)], [("20", 1)]), "notes-not-there", "gives",
                "By count 10 and the exchanges since, 'ferry-fares' lacks 1 of 10.00 EUR, 10 of 1.00 EUR: write the "
                    + "notes that were there, or count it again."));
        // On a day before the count nobody knows the notes.
        given.When(Exchanges([("10", 2)], [("20", 1)]) with { OccurredOn = Sept(23) }).ThenWritten();
        var exchanged = given.When(Exchanges([("20", 1)], [("10", 2)])).ThenWritten();
        Assert.Equal([new Pieces(Eur(20m), 1), new Pieces(Eur(10m), 2), new Pieces(Eur(5m), 2)],
            exchanged.Book.NotesOf(Ferry)!.Pieces);
    }

    [Fact]
    public void A_statement_of_the_bank_that_cannot_be()
    {
        var given = Given(Fill(Van, 5m, Sept(1), Holding.Bank));
        SettleBankStatement Settles(long statement, DateOnly? on = null, string compartment = Van) =>
            new(statement, compartment, "fee", on);
        var read = given.When(new ReadBankStatement(4m, Sept(20), "")).ThenWritten();

        Given().Refuses(
            (new ReadBankStatement(4m, null, ""), "nothing-in-bank", "occurredOn",
                "No compartment had anything in the bank on 2026-09-24: write what it has there with <Fill> and the "
                    + "holding bank, or another day."),
            (new ReadBankStatement(-1m, null, ""), "total-negative", "total",
                "`total` is what the bank states: zero or more."),
            (Settles(3), "statement-not-open", null,
                "There is no bank statement 3 that could be settled: none was read yet."));
        read.Refuses(
            (Settles(3), "statement-not-open", null,
                "There is no bank statement 3 that could be settled: the last, by its day, is 9 of 2026-09-20."),
            (Settles(9, on: Sept(19)), "before-statement", "occurredOn",
                "The bank stated its balance of 2026-09-20: settle it on that day or later."),
            (Settles(9, compartment: Boat), "not-enough", "compartment",
                "The bank part of 'boat-insurance' holds 0.00 EUR: 1.00 EUR is missing. 'bakery-van' could give "
                    + "it."));
        read.When(Settles(9)).ThenWritten().Refuses(
            (Settles(9), "statement-settled", null, "Bank statement 9 is settled already."));
        given.When(new ReadBankStatement(5m, Sept(20), "")).ThenWritten().Refuses(
            (Settles(9), "nothing-to-settle", null,
                "Bank statement 9 agrees with the book: there is no over or short to post."));
        given.When(new ReadBankStatement(5.50m, Today, "")).ThenWritten().When(Settles(9)).Then(
            new BankStatementSettled(9, Van, Eur(0.50m), Today, "fee"));
    }

    [Fact]
    public void A_round_that_cannot_be()
    {
        var given = Given(Fill(Ferry, 5m, Sept(1)));
        var open = given.When(new OpenCountRound("market-bag", null, false)).Then(
            new CountRoundOpened([Ferry, Market], "market-bag", null, false));
        var round = FirstLine + 1;
        CountInRound In(RecordCount figure, long? atLine = null, long? of = null) =>
            new(of ?? round, figure, atLine, "keeper");
        ConfirmCounts Confirms(string by, params string[] named) => new(round, named.Length == 0 ? null : named, by);

        given.Refuses(
            (new OpenCountRound("tin", null, false), "wallet-unknown", "wallet",
                "There is no wallet 'tin'. <ListWallets> lists them."),
            (new OpenCountRound("market-bag", Purpose.Saving, false), "nothing-to-count", null,
                "No compartment in use is in this wallet or has this purpose: leave `wallet` and `purpose` out to "
                    + "count all of them."),
            (new CloseCountRound(3, null), "count-round-not-open", null,
                "There is no count round 3 that is open: open one with <OpenCountRound>."));
        open.Refuses(
            (new OpenCountRound(null, Purpose.Spending, false), "count-round-open", null,
                $"'ferry-fares' is in count round {round}, which is open: go on with it, or close it with "
                    + $"<CloseCountRound {round}>."),
            (new CloseCountRound(3, null), "count-round-not-open", null,
                $"There is no count round 3 that is open: {round} is."),
            (new CloseCountRound(round, null), "count-round-unfinished", "reason",
                "Not counted yet: ferry-fares, market-days. Count them, or send a `reason` to close the round all the "
                    + "same."),
            (In(Counts(0m, compartment: Van)), "compartment-not-in-round", "compartment",
                $"'bakery-van' is not in count round {round}, which counts ferry-fares, market-days: count it with "
                    + "<Count>."),
            (In(Counts(5m), round + 1), "after-last-line", "atLine",
                $"The book's last line is {round}: leave `atLine` out to count as it stands."),
            (In(Counts(5m), round - 1), "before-round", "atLine",
                $"The round was opened at line {round}, and what moved before is not part of it: count "
                    + "'ferry-fares' again."),
            (In(Counts(5m, on: Today), round - 1), "before-round", "countedAt",
                $"The round was opened at line {round}, and what moved before is not part of it: count "
                    + "'ferry-fares' again."),
            (In(Counts(5m, on: Sept(25))), "after-today", "countedAt",
                "2026-09-25 is after the household's today, 2026-09-24: write what has happened, on the day it did."),
            (Confirms("partner", Van), "compartment-not-in-round", "compartments[0]",
                $"'bakery-van' is not in count round {round}, which counts ferry-fares, market-days."),
            (Confirms("partner", Ferry, Market), "not-counted-yet", "compartments[0]",
                "'ferry-fares' is not counted yet: its figure comes first, and then a second person confirms it."));
        var counted = open.When(In(Counts(5m))).ThenWritten();
        counted.Refuses(
            (Confirms("keeper"), "same-key", null,
                "The key 'keeper' wrote the figure of 'ferry-fares', and whoever counts can't confirm as well: a "
                    + "second person confirms with a key of their own."),
            (Confirms("keeper", Ferry), "same-key", "compartments[0]",
                "The key 'keeper' wrote the figure of 'ferry-fares', and whoever counts can't confirm as well: a "
                    + "second person confirms with a key of their own."));
        counted.When(Counts(5m)).ThenWritten().Refuses(
            (In(Counts(5m), round), "count-replaced", "atLine",
                $"The cash of 'ferry-fares' was counted again after that, in count {round + 2}, which stands: count "
                    + "it once more if that one is wrong."));
        open.When(new OpenCountRound("strongbox", null, true)).ThenWritten().Refuses(
            (new CloseCountRound(3, null), "count-round-not-open", null,
                $"There is no count round 3 that is open: {round}, {round + 1} are."));
    }

    // A slip of paper is typed in at once: the round, its figures and its close are one entry.
    [Fact]
    public void A_round_that_was_counted_on_paper_is_written_at_once()
    {
        var given = Given(Fill(Ferry, 5m, Sept(1)));
        var round = FirstLine + 1;
        var slip = new CountAtOnce(new OpenCountRound("market-bag", null, false),
            [Counts(4m), Counts(0m, compartment: Market)], "keeper");
        CountTaken Taken(string compartment, decimal expected, decimal counted, long atLine) =>
            Count(compartment, expected, counted) with { InRound = new CountedInRound(round, atLine, "keeper") };

        given.When(slip).Then(new CountRoundOpened([Ferry, Market], "market-bag", null, false),
            Taken(Ferry, 5m, 4m, round), Taken(Market, 0m, 0m, round + 1));
        given.When(slip with { Closes = true, Reason = " at night " }).Then(
            new CountRoundOpened([Ferry, Market], "market-bag", null, false), Taken(Ferry, 5m, 4m, round),
            Taken(Market, 0m, 0m, round + 1),
            new CountRoundClosed(round, [new RoundResult(Ferry, new RoundCount(round + 1, round, "keeper"), []),
                new RoundResult(Market, new RoundCount(round + 2, round + 1, "keeper"), [])], "at night"));
        given.When(slip with { Figures = [Counts(4m), Counts(-1m, compartment: Market)] })
            .ThenRefused("total-negative", "figures[1].total");
        given.When(slip with { Figures = [Counts(4m)], Closes = true })
            .ThenRefused("count-round-unfinished", "reason");
    }

    [Fact]
    public void A_figure_was_counted_between_the_rounds_opening_and_now()
    {
        var now = new DateTimeOffset(2026, 9, 24, 20, 15, 30, TimeSpan.Zero);
        (string, string?, string)? Refused(DateTimeOffset at, DateTimeOffset? opened)
        {
            try
            {
                CountInRound.MustBeMoment(at, now, opened);
                return null;
            }
            catch (RefusalException refused)
            {
                return (refused.Refusal.Code, refused.Refusal.Field, refused.Refusal.Detail);
            }
        }

        Assert.Null(Refused(now, now));
        Assert.Null(Refused(now.AddYears(-1), null));
        Assert.Equal(("after-now", "countedAt",
            "2026-09-24T20:15:31Z is still to come: write the instant at which it was counted."),
            Refused(now.AddSeconds(1), null));
        Assert.Equal(("before-round", "countedAt",
            "The round was opened at 2026-09-24T20:15:30Z, and what was counted before is not part of it: count "
                + "again."), Refused(now.AddSeconds(-1), now));
    }

    [Fact]
    public void A_handover_that_comes_back_before_it_went_or_is_not_out()
    {
        var given = Given(Fill(Ferry, 5m, Sept(1)), new HandedOver(Ferry, "partner", Eur(5m), Sept(20), ""));
        ReturnHandover Back(long handover, DateOnly? on = null) => new(handover, 5m, null, on, "", "");

        given.Refuses(
            (Back(3), "handover-not-open", null,
                "There is no handover 3 that is not back yet: <TellCustody> lists what is carried."),
            (Back(FirstLine + 1, Sept(19)), "before-handover", "occurredOn",
                "It was taken out on 2026-09-20: it comes back on that day or later."));
        given.When(Back(FirstLine + 1, Sept(20))).ThenWritten();
    }
}
