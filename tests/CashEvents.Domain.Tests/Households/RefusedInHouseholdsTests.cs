using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Households;

/// <summary>What is refused of wallets, compartments, keys and the household, in which words.</summary>
public class RefusedInHouseholdsTests
{
    private static IssueKey Issue(string name) => new(name, Role.Member, [], "hash");

    private static DescribeHousehold Describe(string? currency = "EUR", string timeZone = "Europe/Dublin",
        string? country = null) => new("Harbour Row", currency, timeZone, DayOfWeek.Monday, country);

    [Fact]
    public void A_wallet_or_compartment_that_cannot_be_so() => Given(Fill(Boat, 3m),
        Fill(Van, 2m, holding: Holding.Bank), new WalletOpened("pouch", "Pouch"), new WalletClosed("pouch")).Refuses(
        (new ChangeWallet("market-bag", null, Closed: true), "wallet-not-empty", "closed",
            "ferry-fares, market-days are in 'market-bag': move them to another wallet or close them with "
                + "<ChangeCompartment>, then close the wallet."),
        (new ChangeWallet("markt-bag", "Bag", null), "wallet-unknown", null, "There is no wallet 'markt-bag'."),
        (new OpenWallet("Market bag"), "wallet-taken", "label",
            "There is a wallet 'market-bag' already: choose a label that differs in its letters or digits."),
        (new OpenWallet("?"), "label-without-letters", "label",
            "The id is made from the label's letters and digits, and it has none: write at least one."),
        (new OpenCompartment("Oars", "strong-box", Purpose.Saving), "wallet-unknown", "wallet",
            "There is no wallet 'strong-box'. Did you mean 'strongbox'?"),
        (new OpenCompartment("Oars", "satchel", Purpose.Saving), "wallet-unknown", "wallet",
            "There is no wallet 'satchel'. <ListWallets> lists them."),
        (new OpenCompartment("Oars", "pouch", Purpose.Saving), "wallet-closed", "wallet",
            "'pouch' is closed: name another wallet, or reopen it with <ChangeWallet pouch> {\"closed\": false} "
                + "first."),
        (new OpenCompartment("Bakery van", "strongbox", Purpose.Saving), "compartment-taken", "label",
            "There is a compartment 'bakery-van' already: choose a label that differs in its letters or digits."),
        (new ChangeCompartment(Boat, null, null, Closed: true), "compartment-not-empty", "closed",
            "'boat-insurance' still holds 3.00 EUR in cash and 0.00 EUR in the bank: spend, transfer or sweep it, "
                + "then close."),
        (new ChangeCompartment(Van, null, null, Closed: true), "compartment-not-empty", "closed",
            "'bakery-van' still holds 0.00 EUR in cash and 2.00 EUR in the bank: spend, transfer or sweep it, "
                + "then close."),
        (new ChangeCompartment("oars", null, null, null), "compartment-unknown", null,
            "There is no compartment 'oars'."));

    [Fact]
    public void A_wallet_with_one_compartment_in_use_says_so_in_the_singular() =>
        Given(new CompartmentClosed(Market)).Refuses(
            (new ChangeWallet("market-bag", null, Closed: true), "wallet-not-empty", "closed",
                "ferry-fares is in 'market-bag': move it to another wallet or close it with <ChangeCompartment>, "
                    + "then close the wallet."));

    [Fact]
    public void A_compartment_is_not_reopened_in_a_wallet_that_is_closed()
    {
        var closed = Given(new CompartmentClosed(Ferry), new CompartmentClosed(Market), new WalletClosed("market-bag"));

        closed.When(new ChangeCompartment(Ferry, null, null, Closed: false)).ThenRefused("wallet-closed", "wallet");
        closed.When(new ChangeCompartment(Ferry, null, "strongbox", Closed: false))
            .Then(new CompartmentMoved(Ferry, "strongbox"), new CompartmentReopened(Ferry));
    }

    [Fact]
    public void An_empty_wallet_is_relabelled_closed_and_reopened()
    {
        var given = Given(new WalletOpened("pouch", "Pouch"),
            new PlaceSet("attic", "Attic", true, ["pouch"], Today));

        var closed = given.When(new ChangeWallet("pouch", " Old pouch ", Closed: true))
            .Then(new WalletRelabelled("pouch", "Old pouch"), new WalletClosed("pouch"));
        Assert.Equal(("Old pouch", true, null), (closed.Book.Wallets["pouch"].Label,
            closed.Book.Wallets["pouch"].Closed, closed.Book.Wallets["pouch"].LiesIn));
        closed.When(new ChangeWallet("pouch", "Old pouch", Closed: true)).ThenNothing();

        var reopened = closed.When(new ChangeWallet("pouch", null, Closed: false)).Then(new WalletReopened("pouch"));
        Assert.False(reopened.Book.Wallets["pouch"].Closed);
    }

    // A compartment that is closed is empty, and stays in its wallet when that is closed.
    [Fact]
    public void Only_what_is_in_use_in_it_keeps_a_wallet_open() =>
        Given(new CompartmentClosed(Ferry), new CompartmentClosed(Market))
            .When(new ChangeWallet("market-bag", null, Closed: true)).Then(new WalletClosed("market-bag"));

    [Fact]
    public void A_key_that_cannot_be_so() => Given(new KeyIssued("keeper", Role.Keeper, [], "hash")).Refuses(
        (Issue("Zoë's phone"), "key-name-not-ascii", "name",
            "'Zoë's phone' has other signs than plain Latin letters, digits and those of an English keyboard, and "
                + "some of them look like these: write it without, such as 'zoes-phone'."),
        (Issue("ключ"), "key-name-not-ascii", "name",
            "'ключ' has other signs than plain Latin letters, digits and those of an English keyboard, and some of "
                + "them look like these: write it without, such as 'phone'."),
        (Issue("—"), "key-name-not-ascii", "name",
            "'—' has other signs than plain Latin letters, digits and those of an English keyboard, and some of "
                + "them look like these: write it without, such as 'phone'."),
        (Issue("!?~"), "key-name-without-letters", "name",
            "'!?~' has no letter and no digit: write at least one."),
        (Issue("Setup"), "key-name-reserved", "name",
            "'Setup' stands beside the lines that the program writes by itself: choose another name."),
        (Issue("machine"), "key-name-reserved", "name",
            "'machine' stands beside the lines that the program writes by itself: choose another name."),
        (Issue("Automatic-fill-runs"), "key-name-reserved", "name",
            "'Automatic-fill-runs' stands beside the lines that the program writes by itself: choose another name."),
        (Issue("KEEPER!"), "key-name-taken", "name",
            "A key named 'keeper' was issued before, and its name stands beside the lines it wrote: choose a name "
                + "that differs in its letters or digits."),
        (new IssueKey("payday", Role.Script, [], "hash"), "movements-missing", "movements",
            "A script's key lists the movements it may write, such as [\"fill\", \"sweep\"]."),
        (new IssueKey("partner", Role.Member, [MovementKind.Fill], "hash"), "movements-not-for-role", "movements",
            "Only a script's key lists movements: leave `movements` out, or make the role `script`."),
        (Issue("lodger") with { LastDay = Today.AddDays(-1) }, "expires-in-past", "expires",
            "`expires` is past, and the key would never be accepted: write a day from today on, or an instant to "
                + "come."),
        (Issue("lodger") with { LastDay = new DateOnly(9999, 1, 1) }, "expires-too-late", "expires",
            "`expires` is at most 9998-12-31: leave it out for a key that does not expire."),
        (new RevokeKey("partner"), "key-unknown", null, "There is no key named 'partner'."),
        (new RevokeKey("keeper"), "last-keeper", null,
            "'keeper' is the last keeper's key that does not expire, and without one nobody could keep the book: "
                + "issue another first."),
        (new ReplaceKeeperKey("partner", "hash"), "key-unknown", "lost",
            "No keeper's key in use is named 'partner'. In use: 'keeper'."));

    [Fact]
    public void The_first_and_last_signs_of_an_english_keyboard_and_the_last_day_are_taken()
    {
        Given().When(Issue("a ~")).ThenWritten();
        Given().When(Issue("lodger") with { LastDay = new DateOnly(9998, 12, 31) }).ThenWritten();
    }

    [Fact]
    public void Which_keepers_key_is_lost_is_asked_where_there_are_several() =>
        Given(new KeyIssued("keeper", Role.Keeper, [], "hash"), new KeyIssued("other", Role.Keeper, [], "hash"))
            .Refuses((new ReplaceKeeperKey(null, "hash"), "which-key", "lost",
                "The book has 2 keeper's keys: 'keeper', 'other'. Say which one is lost, and it is revoked: "
                    + "--lost \"keeper\"."));

    [Fact]
    public void A_book_without_a_keeper_gets_one() =>
        Given().When(new ReplaceKeeperKey(null, "hash")).Then(new KeyIssued("keeper", Role.Keeper, [], "hash"));

    [Fact]
    public void A_household_that_cannot_be_so() => Given(Fill(Ferry, 1m)).Refuses(
        (Describe("EURO"), "currency-unknown", "currency",
            "'EURO' is no ISO 4217 currency code: write one such as EUR or USD."),
        (Describe(timeZone: "Harbour/Quay"), "time-zone-unknown", "timeZone",
            "'Harbour/Quay' is no IANA time zone: write one such as Europe/Dublin or America/Halifax."),
        (Describe(country: "ie"), "country-unknown", "country",
            "'ie' is no ISO 3166-1 alpha-2 code: write two capitals such as IE or US, or leave `country` out."),
        (Describe("USD"), "currency-fixed", "currency",
            "The book has amounts in EUR: their currency can't change any more. Leave it, or keep a second "
                + "household's book."),
        (Describe() with { SmallestNote = 3m }, "denomination-unknown", "smallestNote",
            "No bank gives a note or coin of 3 EUR. Choose one of 200, 100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, "
                + "0.05, 0.02, 0.01."),
        (Describe() with { SmallestNote = 20m, LargestNote = 10m }, "notes-crossed", "largestNote",
            "The largest note to draw, 10, is smaller than the smallest, 20: write them the other way round."));

    [Fact]
    public void Notes_to_draw_need_a_currency_whose_notes_are_known() => GivenBook().Refuses(
        (Describe(null) with { SmallestNote = 5m }, "currency-missing", "currency",
            "`currency` is needed with `smallestNote`: an ISO 4217 code such as EUR."),
        (Describe("SEK") with { LargestNote = 20m }, "denominations-unknown", "largestNote",
            "The notes and coins of SEK are not listed here: leave `largestNote` out."));

    [Fact]
    public void So_many_and_no_more()
    {
        Given([.. Enumerable.Range(0, 198).Select(n => new WalletOpened($"pouch-{n}", $"Pouch {n}"))]).Refuses(
            (new OpenWallet("One more"), "too-many", null,
                "A household has at most 200 wallets in use: close one that is empty."));
        Given([.. Enumerable.Range(0, 496)
            .Select(n => new CompartmentOpened($"purpose-{n}", $"Purpose {n}", "strongbox", Purpose.Saving))]).Refuses(
            (new OpenCompartment("One more", "strongbox", Purpose.Saving), "too-many", null,
                "A household has at most 500 compartments in use: close one that is empty."));
    }

    // The currency, zone, first day, country and notes are each the household's; what is so already is no line.
    [Fact]
    public void A_household_is_described_anew_where_anything_differs()
    {
        var full = Describe(country: "IE") with { SmallestNote = 5m, LargestNote = 50m };
        var described = GivenBook().When(full).ThenWritten();

        described.When(full).ThenNothing();
        Assert.All(
            [
                full with { Name = "Quay" }, full with { Currency = "GBP", SmallestNote = 5m },
                full with { TimeZone = "Europe/Oslo" }, full with { FirstDayOfWeek = DayOfWeek.Sunday },
                full with { Country = null }, full with { SmallestNote = null }, full with { LargestNote = 20m },
                full with { SmallestNote = 50m },
            ],
            (DescribeHousehold other) => Assert.Single(other.Decide(described.Book, Today)));
    }
}
