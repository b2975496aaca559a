using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Movements;

public class SweepTests
{
    private static SweepFrom These(params string[] compartments) => new(Compartments: [.. compartments]);

    private static RecordSweep IntoBoat(SweepFrom from, decimal? leave = null, DateOnly? on = null,
        Holding holding = Holding.Cash) =>
        new(from, holding, Cash(Boat), leave, on, null);

    [Fact]
    public void Leftovers_of_listed_compartments_move_a_line_each_in_the_order_of_the_list()
    {
        var asked = Given(Fill(Ferry, 3.20m), Fill(Market, 11m), Fill(Van, 50m)).When(IntoBoat(These(Market, Ferry)));

        asked.Then(Sweep(Cash(Market), Cash(Boat), 11m), Sweep(Cash(Ferry), Cash(Boat), 3.20m));
        asked.ThenHolds((Cash(Market), 0m), (Cash(Ferry), 0m), (Cash(Van), 50m), (Cash(Boat), 14.20m));
    }

    [Fact]
    public void A_wallet_is_swept_whole_in_the_order_its_compartments_were_opened() =>
        Given(Fill(Market, 11m), Fill(Ferry, 3.20m), Fill(Van, 50m))
            .When(IntoBoat(new SweepFrom(Wallet: "market-bag")))
            .Then(Sweep(Cash(Ferry), Cash(Boat), 3.20m), Sweep(Cash(Market), Cash(Boat), 11m));

    [Fact]
    public void A_purpose_is_swept_whole() =>
        Given(Fill(Market, 11m), Fill(Ferry, 3.20m), Fill(Van, 50m))
            .When(IntoBoat(new SweepFrom(Purpose: Purpose.Saving))).Then(Sweep(Cash(Van), Cash(Boat), 50m));

    [Fact]
    public void Something_can_be_left_in_each()
    {
        var asked = Given(Fill(Ferry, 3.20m), Fill(Market, 11m), Fill(Van, 5m))
            .When(IntoBoat(These(Ferry, Market, Van), leave: 5m));

        asked.Then(Sweep(Cash(Market), Cash(Boat), 6m));
        asked.ThenHolds((Cash(Ferry), 3.20m), (Cash(Market), 5m), (Cash(Van), 5m), (Cash(Boat), 6m));
    }

    [Fact]
    public void Empty_compartments_are_passed_over() =>
        Given(Fill(Market, 11m)).When(IntoBoat(These(Ferry, Market))).Then(Sweep(Cash(Market), Cash(Boat), 11m));

    [Fact]
    public void Nothing_left_anywhere_writes_no_line()
    {
        Given().When(IntoBoat(These(Ferry, Market))).ThenNothing();
        Given().When(IntoBoat(new SweepFrom(Wallet: "market-bag"))).ThenNothing();
        Given(Fill(Ferry, 4m)).When(IntoBoat(new SweepFrom(Purpose: Purpose.Spending), leave: 4m)).ThenNothing();
    }

    [Fact]
    public void Closed_compartments_of_a_wallet_or_purpose_are_passed_over_but_refused_in_a_list()
    {
        var book = Given(Fill(Market, 11m), new CompartmentClosed(Ferry));

        book.When(IntoBoat(new SweepFrom(Wallet: "market-bag"))).Then(Sweep(Cash(Market), Cash(Boat), 11m));
        book.When(IntoBoat(new SweepFrom(Purpose: Purpose.Spending))).Then(Sweep(Cash(Market), Cash(Boat), 11m));
        book.When(IntoBoat(These(Market, Ferry))).ThenRefused("compartment-closed", "from[1]");
    }

    [Fact]
    public void Sweeping_a_compartment_into_itself_is_refused_in_a_list() =>
        Given(Fill(Market, 11m)).When(IntoBoat(These(Market, Boat))).ThenRefused("sweep-into-itself", "from[1]");

    [Fact]
    public void The_target_is_passed_over_in_its_own_wallet_and_purpose()
    {
        var book = Given(Fill(Boat, 7m), Fill(Van, 50m));

        book.When(IntoBoat(new SweepFrom(Wallet: "strongbox"))).Then(Sweep(Cash(Van), Cash(Boat), 50m));
        book.When(IntoBoat(new SweepFrom(Purpose: Purpose.SinkingFund))).ThenNothing();
    }

    [Fact]
    public void The_bank_part_of_the_target_can_be_swept_into_its_cash() =>
        Given(Fill(Boat, 7m, holding: Holding.Bank)).When(IntoBoat(These(Boat), holding: Holding.Bank))
            .Then(Sweep(Bank(Boat), Cash(Boat), 7m));

    [Fact]
    public void Only_the_named_holding_is_swept() =>
        Given(Fill(Ferry, 3m), Fill(Ferry, 9m, holding: Holding.Bank))
            .When(IntoBoat(These(Ferry), holding: Holding.Bank)).Then(Sweep(Bank(Ferry), Cash(Boat), 9m));

    [Fact]
    public void A_compartment_named_twice_is_refused() =>
        Given(Fill(Market, 11m)).When(IntoBoat(These(Market, Ferry, Market)))
            .ThenRefused("compartment-twice", "from[2]");

    [Fact]
    public void Names_in_the_list_and_the_target_are_known()
    {
        var book = Given(Fill(Market, 11m));

        Assert.Equal([Market], book.When(IntoBoat(These(Ferry, "market-dais")))
            .ThenRefused("compartment-unknown", "from[1]").Suggestions);
        Assert.Equal(["market-bag"],
            book.When(IntoBoat(new SweepFrom(Wallet: "market-bags")))
                .ThenRefused("wallet-unknown", "from.wallet").Suggestions);
        book.When(new RecordSweep(These(Market), Holding.Cash, Cash("boat"), null, null, null))
            .ThenRefused("compartment-unknown", "to.compartment");
        Given(new CompartmentClosed(Boat)).When(IntoBoat(These(Market)))
            .ThenRefused("compartment-closed", "to.compartment");
    }

    [Fact]
    public void What_to_leave_is_zero_or_more_and_whole_in_minor_units()
    {
        Given(Fill(Market, 11m)).When(IntoBoat(These(Market), leave: -0.01m)).ThenRefused("leave-negative", "leave");
        Given(Fill(Market, 11m)).When(IntoBoat(These(Market), leave: 0.001m)).ThenRefused("too-many-decimals", "leave");
    }

    [Fact]
    public void A_back_dated_sweep_takes_what_no_later_day_needs() =>
        Given(Fill(Market, 40m, Sept(1)), Spend(Market, 35m, Sept(10)), Fill(Market, 90m, Sept(20)),
            Fill(Ferry, 8m, Sept(6)))
            .When(IntoBoat(These(Market, Ferry), on: Sept(5)))
            .Then(Sweep(Cash(Market), Cash(Boat), 5m, Sept(5)));

    [Fact]
    public void A_day_after_today_is_refused() =>
        Given(Fill(Market, 11m)).When(IntoBoat(These(Market), on: Sept(25))).ThenRefused("after-today", "occurredOn");

    private static RecordSweep Old(DateOnly? on = null, decimal? leave = null, DateOnly? freshFrom = null,
        params string[] of) =>
        IntoBoat(These(of.Length > 0 ? of : [Ferry]), leave, on) with
        {
            Take = SweepTake.BroughtForward,
            FreshFrom = freshFrom
        };

    [Fact]
    public void What_was_there_before_the_last_fill_is_taken_less_what_left_since()
    {
        // 12.40 were there, 50.00 came on the 10th and 3.00 were spent on that very day, 5.00 later, of which 1.00 came
        // back.
        var given = Given(
            Fill(Ferry, 40m, Sept(1)), Spend(Ferry, 27.60m, Sept(8)), Spend(Ferry, 3m, Sept(10)),
            Fill(Ferry, 50m, Sept(10)), Spend(Ferry, 5m, Sept(15)), Refund(Ferry, 1m, Sept(16)));

        given.When(Old()).Then(Sweep(Cash(Ferry), Cash(Boat), 5.40m)).When(Old()).ThenNothing();
        given.When(Old(leave: 58m)).ThenNothing();
        given.When(Old(leave: 53m)).Then(Sweep(Cash(Ferry), Cash(Boat), 2.40m));
        // On the day before the fill the one of the 1st was the last.
        given.When(Old(on: Sept(9))).ThenNothing();
        given.When(Old(freshFrom: Sept(11))).Then(Sweep(Cash(Ferry), Cash(Boat), 55.40m));
        given.When(Old(freshFrom: Sept(1))).ThenNothing();
    }

    [Fact]
    public void What_was_never_filled_was_all_there_before()
    {
        Given(Fill(Market, 30m), Transfer(Cash(Market), Cash(Ferry), 8m)).When(Old())
            .Then(Sweep(Cash(Ferry), Cash(Boat), 8m));
        // What is moved in after the fill is fresh too.
        Given(Fill(Ferry, 4m, Sept(1)), Fill(Ferry, 20m, Sept(10)), Fill(Market, 30m),
            Transfer(Cash(Market), Cash(Ferry), 8m)).When(Old()).Then(Sweep(Cash(Ferry), Cash(Boat), 4m));
    }

    [Fact]
    public void More_that_left_than_was_there_leaves_nothing_to_take() =>
        Given(Fill(Ferry, 4m, Sept(1)), Fill(Ferry, 20m, Sept(10)), Spend(Ferry, 9m, Sept(12)),
            Fill(Market, 2m, Sept(1)), Fill(Market, 5m, Sept(10)))
            .When(Old(of: [Ferry, Market])).Then(Sweep(Cash(Market), Cash(Boat), 2m));

    [Fact]
    public void A_fill_that_was_undone_is_none()
    {
        var fill = Fill(Ferry, 20m, Sept(10));

        Given(Fill(Ferry, 4m, Sept(1)), Spend(Ferry, 1m, Sept(3)), fill, Reversed(FirstLine + 2, fill)).When(Old())
            .ThenNothing();
        Given(Fill(Ferry, 4m, Sept(1)), Fill(Ferry, 6m, Sept(5)), fill, Reversed(FirstLine + 2, fill)).When(Old())
            .Then(Sweep(Cash(Ferry), Cash(Boat), 4m));
    }

    [Fact]
    public void It_says_what_it_took_and_left_everywhere()
    {
        var book = Given(Fill(Ferry, 4m, Sept(1)), Fill(Ferry, 20m, Sept(10)), Fill(Market, 5m, Sept(10)),
            Fill(Van, 7m)).Book;
        var sweep = Old(on: Sept(20), of: [Ferry, Market, Van]);

        Assert.Equal(
            [new SweptPart(Cash(Ferry), Eur(4m), Eur(20m)), new SweptPart(Cash(Market), Money.Zero, Eur(5m)),
                new SweptPart(Cash(Van), Money.Zero, Money.Zero)],
            sweep.LeftBy(book, book.Decide(sweep, Today).After, Today));
    }

    [Fact]
    public void The_first_fresh_day_goes_with_what_was_brought_forward_and_is_not_after_the_sweep()
    {
        Given(Fill(Ferry, 4m)).When(IntoBoat(These(Ferry)) with { FreshFrom = Sept(1) })
            .ThenRefused("fresh-from-not-for-all", "freshFrom");
        Given(Fill(Ferry, 4m)).When(Old(on: Sept(20), freshFrom: Sept(21)))
            .ThenRefused("fresh-from-after-sweep", "freshFrom");
    }
}
