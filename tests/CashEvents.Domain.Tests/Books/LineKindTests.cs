using System.Collections.Immutable;
using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

/// <summary>What each kind of line says of itself: whose line it is, whether it has an amount, what mends it.</summary>
public class LineKindTests
{
    private static readonly DateOnly _monday = Sept(21);

    private static readonly Month _september = new(Sept(1));

    // Each kind of line that is no movement: what it is about, whether it carries an amount, and how it is mended.
    private static readonly (IBookEvent Line, string About, bool CarriesAmount, string Mend)[] _kinds =
    [
        (Opening[0], "", false, "describe the household anew with <DescribeHousehold>"),
        (new WalletOpened("pouch", "Pouch"), "", false, "change 'pouch' with <ChangeWallet pouch>, or close it"),
        (new WalletRelabelled("pouch", "Bag"), "", false, "change 'pouch' back with <ChangeWallet pouch>"),
        (new WalletClosed("pouch"), "", false, "reopen 'pouch' with <ChangeWallet pouch>"),
        (new WalletReopened("pouch"), "", false, "close 'pouch' again with <ChangeWallet pouch>"),
        (new CompartmentOpened(Ferry, "Ferry", "pouch", Purpose.Spending), Ferry, false,
            "change 'ferry-fares' with <ChangeCompartment ferry-fares>, or close it"),
        (new CompartmentRelabelled(Ferry, "Boat"), Ferry, false,
            "change 'ferry-fares' back with <ChangeCompartment ferry-fares>"),
        (new CompartmentMoved(Ferry, "pouch"), Ferry, false,
            "change 'ferry-fares' back with <ChangeCompartment ferry-fares>"),
        (new CompartmentClosed(Ferry), Ferry, false,
            "change 'ferry-fares' back with <ChangeCompartment ferry-fares>"),
        (new CompartmentReopened(Ferry), Ferry, false,
            "change 'ferry-fares' back with <ChangeCompartment ferry-fares>"),
        (new KeyIssued("partner", Role.Member, [], "hash"), "", false, "revoke the key with <RevokeKey partner>"),
        (new KeyRevoked("partner"), "", false, "issue another key with <IssueKey>"),
        (Count(Ferry, 5m, 4m), Ferry, true,
            "count ferry-fares again, and the new count stands in its stead"),
        (new BankStatementRead(Eur(5m), Eur(5m), [new BankPart(Van, Eur(2m)), new BankPart(Boat, Eur(3m))], Today,
            false, ""), $"{Van} {Boat}", true, "read the bank's statement again, and the new one stands in its stead"),
        (new NotesExchanged(Ferry, Market, [], [], Today, ""), $"{Ferry} {Market}", true,
            "exchange the notes back between 'ferry-fares' and 'market-days', or count both again"),
        (new CountRoundOpened([Ferry, Market], null, null, false), $"{Ferry} {Market}", false,
            "close the round with <CloseCountRound 12>"),
        (new CountsConfirmed(9, [new ConfirmedCount(Ferry, 10)], "partner"), Ferry, false,
            "count again, and the new count is not confirmed"),
        (new CountRoundClosed(9, [], ""), "", false, "open another round with <OpenCountRound>"),
        (new HandedOver(Van, "partner", Eur(4m), Today, ""), Van, true, "bring it back with <ReturnHandover 12>"),
        (new HandoverReturned(9, Van, Today, ""), Van, false, "hand it over again with <OpenHandover>"),
        (new PlaceSet("attic", "Attic", true, [], Today), "", false, "set the place anew with <SetPlace attic>"),
        (new PlaceRemoved("attic"), "", false, "name the place again with <SetPlace attic>"),
        (new CautionLimitsSet(null, Eur(50m)), "", true, "set the limits anew with <SetCautionLimits>"),
        (new MonthClosed(_september, [], ""), "", false, "reopen 2026-09 instead"),
        (new MonthReopened(_september, ""), "", false, "close 2026-09 again instead"),
        (new PlanSet(_monday, ImmutableSortedDictionary<string, Money>.Empty.Add(Ferry, Eur(25m))), Ferry, true,
            "set the plan from 2026-09-21 again, and the new one stands in its stead"),
        (new SavingPlanSet(Van, new SavingSteps(Eur(1m), Eur(1m), 5, [], null), Today, "P1W"), Van, true,
            "set another plan with <SetSavingPlan bakery-van>"),
        (new FundTermsSet(Boat, 50, 0), Boat, false,
            "say anew how 'boat-insurance' is kept with <SetFundTerms boat-insurance>"),
        (new GoalSet("hull", Boat, "Hull", Eur(240m), Today, null, ImmutableSortedDictionary<DateOnly, Money>.Empty,
            Today), Boat, true, "change 'hull' with <ChangeGoal hull>, or remove it"),
        (new GoalRemoved("hull", Boat), Boat, false, "set 'hull' again with <SetGoal>"),
        (new IncomeSourceSet("office", "Office", "month", Today, NotBankDay.Next, Eur(9m)), "", true,
            "what it says can be said anew"),
        (new IncomeSourceSet("office", "Office", "month", Today, NotBankDay.Next, null), "", false,
            "what it says can be said anew"),
        (new IncomeSourceEnded("office"), "", false, "what it says can be said anew"),
        (new StandingPaymentSet("rent", StandingPaymentKind.FixedBill, "Rent", "month", Today, NotBankDay.Next,
            Eur(9m)), "", true, "what it says can be said anew"),
        (new StandingPaymentEnded("rent"), "", false, "what it says can be said anew"),
        (new FillRuleSet(Ferry, FillRuleKind.Fixed, Eur(9m), null, null, Holding.Cash, 1, null), Ferry, true,
            "set another rule with <SetFillRule ferry-fares>, or remove it"),
        (new FillRuleSet(Ferry, FillRuleKind.Weekly, null, null, null, Holding.Cash, 1, null), Ferry, false,
            "set another rule with <SetFillRule ferry-fares>, or remove it"),
        (new FillRuleRemoved(Ferry), Ferry, false, "set the rule again with <SetFillRule ferry-fares>"),
        (new AutomaticFillsSet(new TimeOnly(6, 0), Today), "", false,
            "stop the automatic fills with <StopAutomaticFills>, or set another time"),
        (new AutomaticFillsStopped(), "", false, "start the automatic fills again with <StartAutomaticFills>"),
        (new PaydayLeft(Today, "no pay"), "", false, "fill 2026-09-24 with <FillPayday>"),
        (new NotesWished(Ferry, [], [], []), Ferry, false, "wish anew with <WishNotes ferry-fares>"),
        (new ClockWasAhead(3, 5, Today, ""), "", false, "what it says of the lines before it stays"),
    ];

    [Fact]
    public void A_line_that_is_no_movement_says_what_it_is_about_and_what_mends_it() =>
        Assert.All(_kinds, k => Assert.Equal((k.About, k.CarriesAmount, k.Mend),
            (string.Join(' ', k.Line.About), k.Line.CarriesAmount, k.Line.Mend(12).Spoken())));

    [Fact]
    public void All_kinds_of_line_but_movements_are_among_them() =>
        Assert.Equal(
            LineKinds.Names.Keys.Where(type => !type.IsAssignableTo(typeof(IMovement))).Select(t => t.Name).Order(),
            _kinds.Select(k => k.Line.GetType().Name).Distinct().Order());

    [Fact]
    public void A_movement_is_about_its_compartments_once_each_carries_an_amount_and_is_undone_or_amended()
    {
        IBookEvent within = Transfer(Cash(Ferry), Bank(Ferry), 5m);
        IBookEvent between = Transfer(Cash(Ferry), Bank(Market), 5m);

        Assert.Equal([Ferry], within.About);
        Assert.Equal([Ferry, Market], between.About);
        Assert.True(within.CarriesAmount);
        Assert.Equal("reverse it, or amend it", within.Mend(12));
    }

    [Fact]
    public void A_kind_has_one_name_by_which_its_lines_are_found_again()
    {
        Assert.Equal(LineKinds.Names.Count, LineKinds.Types.Count);
        Assert.All(LineKinds.Names, n => Assert.Same(n.Key, LineKinds.Types[n.Value]));
        Assert.Equal(("fill", "countRoundClosed"), (LineKinds.Of(Fill(Ferry, 1m)),
            LineKinds.Of(new CountRoundClosed(1, [], ""))));
        Assert.Equal("spend", new BookLine(1, 1, DateTimeOffset.UnixEpoch, "keeper", Spend(Ferry, 1m)).Kind);
    }

    // Which key may write a line: one that may write the kind it is listed under.
    [Fact]
    public void A_line_is_listed_under_the_kind_of_movement_that_a_key_may_write()
    {
        (IBookEvent Line, MovementKind? Listed)[] kinds =
        [
            (Fill(Ferry, 1m), MovementKind.Fill), (Spend(Ferry, 1m), MovementKind.Spend),
            (Refund(Ferry, 1m), MovementKind.Refund),
            (Transfer(Cash(Ferry), Cash(Van), 1m), MovementKind.Transfer),
            (Sweep(Cash(Ferry), Cash(Van), 1m), MovementKind.Sweep), (Count(Ferry, 1m, 1m), MovementKind.Count),
            (new BankStatementRead(Eur(1m), Eur(1m), [], Today, false, ""), MovementKind.Count),
            (new CountRoundOpened([Ferry], null, null, false), MovementKind.Count),
            (new CountsConfirmed(9, [], "partner"), MovementKind.Count),
            (new CountRoundClosed(9, [], ""), MovementKind.Count),
            (Settle(9, Ferry, 1m), MovementKind.Settlement),
            (new BankStatementSettled(9, Van, Eur(1m), Today, ""), MovementKind.Settlement),
            (new NotesExchanged(Ferry, Market, [], [], Today, ""), MovementKind.Exchange),
            (new HandedOver(Van, "partner", Eur(4m), Today, ""), MovementKind.Handover),
            (new HandoverReturned(9, Van, Today, ""), MovementKind.Handover),
            (new KeyRevoked("partner"), null), (new MonthReopened(_september, ""), null),
        ];

        Assert.All(kinds, k => Assert.Equal(k.Listed, k.Line.Listed));
    }
}
