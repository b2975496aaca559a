using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Custody;

/// <summary>Where cash lies and who carries it: what is refused and cautioned, and who held it.</summary>
public class RefusedCustodyTests
{
    private static readonly IBookEvent[] _keys =
    [
        new KeyIssued("keeper", Role.Keeper, [], "a"), new KeyIssued("partner", Role.Member, [], "b"),
        new KeyIssued("lodger", Role.Member, [], "c"), new KeyRevoked("lodger"),
    ];

    private static OpenHandover Takes(string? carrier, decimal? amount = 3m, DateOnly? on = null,
        string compartment = Ferry) => new(compartment, amount, carrier, on, "");

    private static RecordSpend Spends(decimal amount) => new(Ferry, Holding.Cash, amount, null, "");

    [Fact]
    public void A_handover_that_cannot_be()
    {
        var given = Given([.. _keys, Fill(Ferry, 5m, Sept(20))]);

        given.Refuses(
            (Takes("partnr").SignedBy("partner"), "carrier-unknown", "carrier",
                "No key in use is named 'partnr', and only a keeper may hand cash to somebody who holds no key: did "
                    + "you mean 'partner'?"),
            (Takes("aunt").SignedBy("partner"), "carrier-unknown", "carrier",
                "No key in use is named 'aunt', and only a keeper may hand cash to somebody who holds no key: name a "
                    + "key, or ask a keeper."),
            (Takes("lodger").SignedBy("partner"), "carrier-unknown", "carrier",
                "No key in use is named 'lodger', and only a keeper may hand cash to somebody who holds no key: name "
                    + "a key, or ask a keeper."),
            (Takes(" "), "words-missing", "carrier", "`carrier` is needed: write a few words."),
            (Takes("partner", compartment: Market, amount: null), "nothing-to-hand-over", "compartment",
                "The cash of 'market-days' holds nothing that could be taken out on 2026-09-24."),
            (Takes("partner", 6m), "not-enough", "amount",
                "The cash of 'ferry-fares' holds 5.00 EUR: 1.00 EUR is missing. No other compartment could give it."));
        given.When(Takes("aunt").SignedBy("keeper")).Then(new HandedOver(Ferry, "aunt", Eur(3m), Today, ""));
        given.When(Takes(null).SignedBy("partner")).Then(new HandedOver(Ferry, "partner", Eur(3m), Today, ""));
        given.When(Takes("PARTNER").SignedBy("partner")).ThenWritten();
        given.When(Takes("partner", null)).ThenWritten().Refuses((Takes("keeper"), "handover-open", "compartment",
            "'partner' carries 5.00 EUR of 'ferry-fares' since 2026-09-24, and one person at a time does: bring it "
                + "back first with <ReturnHandover 13>."));
    }

    [Fact]
    public void What_somebody_carries_is_not_spent_counted_or_closed_by_another()
    {
        var given = Given(Fill(Ferry, 5m, Sept(20)), new HandedOver(Ferry, "partner", Eur(3m), Sept(21), ""));
        const string lies = "'partner' carries 3.00 EUR of 'ferry-fares' since 2026-09-21: 2.00 EUR lies in its "
            + "place, and two people can't spend the same notes. ";

        given.Refuses(
            (Spends(2.01m), "carried-by-another", "carried", lies
                + "Send `\"carried\": true` if it came from what 'partner' carries, or bring it back first with "
                + "<ReturnHandover 9>."),
            (new RecordSpend(Market, Holding.Cash, 3m, null, "", Ferry), "carried-by-another", "restFrom",
                lies + "Bring it back first with <ReturnHandover 9>."),
            (new RecordCount(Ferry, Holding.Cash, 5m, null, null, "", ""), "carried-by-another", "carried",
                "'partner' carries 3.00 EUR of 'ferry-fares' since 2026-09-21: so it is not all there to count. Send "
                    + "`\"carried\": true` if what 'partner' carries is counted too, or bring it back first with "
                    + "<ReturnHandover 9>."));
        given.When(Spends(2m)).ThenWritten();
        Given(Fill(Ferry, 5m), new HandedOver(Ferry, "partner", Eur(3m), Sept(24), ""), Spend(Ferry, 5m)).Refuses(
            (new ChangeCompartment(Ferry, null, null, Closed: true), "handover-open", "closed",
                "'partner' has taken cash of 'ferry-fares' out since 2026-09-24: bring it back with <ReturnHandover "
                    + "9>, then close."));
    }

    [Fact]
    public void Whoever_carries_it_takes_what_they_have_and_the_rest_from_its_place()
    {
        var given = Given(Fill(Ferry, 5m, Sept(20)), new HandedOver(Ferry, "partner", Eur(3m), Sept(21), ""));
        Spent Paid(decimal amount, decimal? carried) => Spend(Ferry, amount) with
        { Carried = carried is { } c ? new CarriedChange(9, Eur(-c)) : null };

        given.When(Spends(2m).SignedBy("Partner")).Then(Paid(2m, 2m));
        given.When(Spends(4m).SignedBy("partner")).Then(Paid(4m, 3m));
        given.When(Spends(3m) with { Hands = new Hands("keeper", true) }).Then(Paid(3m, 3m));
        given.When(Spends(2m) with { Hands = new Hands("partner", false) }).Then(Paid(2m, null));
        given.When(Spends(3m).SignedBy("partner")).ThenWritten().When(Spends(1m).SignedBy("partner"))
            .Then(Paid(1m, null));
        given.When(new RecordRefund(Ferry, Holding.Cash, 1m, null, "").SignedBy("partner")).Then(
            Refund(Ferry, 1m) with { Carried = new CarriedChange(9, Eur(1m)) });
        given.When(new RecordRefund(Ferry, Holding.Cash, 1m, null, "")).Then(Refund(Ferry, 1m));
        // What lies in the bank nobody carries.
        Given(Fill(Ferry, 5m, Sept(20)), new HandedOver(Ferry, "partner", Eur(3m), Sept(21), ""),
            Fill(Ferry, 9m, holding: Holding.Bank)).When(new RecordSpend(Ferry, Holding.Bank, 9m, null, ""))
            .Then(Spend(Ferry, 9m, holding: Holding.Bank));
    }

    [Fact]
    public void A_place_that_cannot_be()
    {
        SetPlace Sets(string id, params string[] wallets) => new(id, "Attic", true, wallets);
        var given = Given(new WalletOpened("pouch", "Pouch"), new WalletClosed("pouch"),
            new PlaceSet("attic", "Attic", true, ["strongbox", "market-bag"], Today),
            new PlaceSet("shed", "Shed", true, [], Today));

        given.Refuses(
            (Sets("The Attic"), "id-unreadable", "id",
                "'The Attic' is no id: write small letters and digits with single hyphens between, such as "
                    + "'the-attic'."),
            (Sets("attic", "tin"), "wallet-unknown", "wallets[0]",
                "There is no wallet 'tin'. <ListWallets> lists them."),
            (Sets("attic", "strongbox", "pouch"), "wallet-closed", "wallets[1]",
                "'pouch' is closed: name another wallet, or reopen it with <ChangeWallet pouch> {\"closed\": false} "
                    + "first."),
            (Sets("attic", "strongbox", "market-bag", "strongbox"), "wallet-twice", "wallets[2]",
                "'strongbox' is in the list twice: name it once."),
            (new RemovePlace("loft"), "place-unknown", null,
                "There is no place 'loft'. <TellCustody> tells what lies where."),
            (new RemovePlace("attic"), "place-in-use", null,
                "market-bag, strongbox lie in 'attic': name another place for them with <SetPlace>, or say with "
                    + "<SetPlace attic> and \"wallets\": [] that nothing lies there any more, then remove it."));
        Given(new PlaceSet("attic", "Attic", true, ["strongbox"], Today)).Refuses(
            (new RemovePlace("attic"), "place-in-use", null,
                "strongbox lies in 'attic': name another place for it with <SetPlace>, or say with <SetPlace attic> "
                    + "and \"wallets\": [] that nothing lies there any more, then remove it."));
        Given([.. Enumerable.Range(1, 50).Select(n => new PlaceSet($"p{n}", "P", true, [], Today))]).Refuses(
            (Sets("attic"), "too-many", null,
                "A household has at most 50 places: remove one that nothing lies in with <RemovePlace>, or set it "
                    + "anew."));
        given.When(new RemovePlace("shed")).Then(new PlaceRemoved("shed"));
    }

    // The form's 200 dollars and the report of more than 10,000 are in docs and sources named with them.
    [Fact]
    public void A_caution_says_what_lies_or_is_carried_above_which_limit_and_where_to_ask()
    {
        var dollars = Given(new HouseholdDescribed("Quay", "USD", "America/New_York", DayOfWeek.Monday, "US"),
            Fill(Ferry, 200.01m)).Book;
        Assert.Equal("200.01 USD lies at home, more than the 200.00 USD of money and bank notes that the standard "
            + "homeowners form covers, unless the policy raises it. Read what your own policy covers, and ask "
            + "whoever insures you; local law goes before this.", Assert.Single(Caution.AtHome(dollars)).Detail);
        Assert.Equal("A bank in the United States reports a cash transaction of more than 10000.00 USD, and this "
            + "draw is 10000.01 USD. Splitting a draw to avoid the report is unlawful. Ask the bank, or somebody "
            + "licensed to advise on law, where anything is unclear.",
            Assert.Single(Caution.Draw(dollars, new Money(1_000_001))).Detail);
        Assert.Empty(Caution.Draw(dollars, new Money(1_000_000)));

        var euros = Given(Fill(Ferry, 60m), Fill(Market, 1m), new CautionLimitsSet(Eur(50m), Eur(20m)),
            new HandedOver(Ferry, "partner", Eur(20m), Today, ""),
            new HandedOver(Market, "Partner", Eur(1m), Today, "")).Book;
        Assert.Empty(Caution.AtHome(euros));
        var carried = Assert.Single(Caution.Carried(euros, "PARTNER"));
        Assert.Equal(("cash-carried", Eur(21m), "the household's own limit, set on line 10",
            "'partner' carries 21.00 EUR, more than the 20.00 EUR that the household has set as its limit. Read what "
                + "your own policy covers away from home; local law goes before this."),
            (carried.Code, carried.Amount, carried.Limit.Source, carried.Detail));
        Assert.Empty(Caution.Carried(euros, "keeper"));
    }

    // As the book is at one line, and its money as it was held on a day: names of the one, amounts of the other.
    [Fact]
    public void Who_held_what_on_a_day_is_told_in_the_books_words()
    {
        IBookEvent[] lines =
        [
            .. Opening, new PlaceSet("attic", "Attic", true, ["strongbox"], Sept(2)), Fill(Ferry, 5m, Sept(3)),
            Fill(Van, 2m, Sept(4), Holding.Bank), new HandedOver(Ferry, "partner", Eur(3m), Sept(5), ""),
            new PlaceSet("attic", "Attic", true, ["strongbox", "market-bag"], Sept(8)),
            new HandoverReturned(11, Ferry, Sept(9), ""), Fill(Ferry, 9m, Sept(10)),
            new CompartmentRelabelled(Ferry, "Boats"),
        ];
        var book = GivenBook(lines).Book;
        Book On(int day) => book.Holding(lines.Aggregate(Book.Empty, (held, line) => held.Take(line, Sept(day))));

        Assert.Equal((Eur(5m), Eur(2m), "Boats"), (On(6).Compartments[Ferry].Cash, On(6).Compartments[Van].Bank,
            On(6).Compartments[Ferry].Label));
        Assert.Equal(Eur(3m), On(6).Carried(Ferry));
        Assert.Equal((Money.Zero, Money.Zero), (On(4).Carried(Ferry), On(9).Carried(Ferry)));
        Assert.Equal((null, "attic", Sept(8)), (On(6).Wallets["market-bag"].LiesIn,
            On(6).Wallets["strongbox"].LiesIn?.Place, On(8).Wallets["market-bag"].LiesIn?.Since));
        Assert.Null(On(1).Wallets["strongbox"].LiesIn);
        Assert.Equal((false, true, Eur(14m)), (On(1).Places.ContainsKey("attic"), On(2).Places.ContainsKey("attic"),
            On(10).Compartments[Ferry].Cash));
        Assert.Equal(book.Line, On(6).Line);
    }

    // Nobody carries what lies in the bank, and just what lies in its place may be swept whole.
    [Fact]
    public void A_sweep_leaves_what_is_carried_and_takes_what_lies_in_its_place_or_in_the_bank()
    {
        var given = Given(Fill(Ferry, 5m, Sept(20)), Fill(Ferry, 9m, Sept(20), Holding.Bank),
            new HandedOver(Ferry, "partner", Eur(3m), Sept(21), ""));
        RecordSweep Sweeps(Holding holding) =>
            new(new SweepFrom([Ferry]), holding, new Part(Van, holding), null, null, "");

        given.When(Sweeps(Holding.Cash)).Then(Sweep(Cash(Ferry), Cash(Van), 2m));
        given.When(Sweeps(Holding.Bank)).Then(Sweep(Bank(Ferry), Bank(Van), 9m));
    }
}
