using System.Collections.Immutable;
using System.Text.Json;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Books;

/// <summary>The book on its way: as one page of text, and as the copy that a device takes along.</summary>
public class CopyTests
{
    // A book with something in every section.
    private static IBookEvent[] Full { get; } =
    [
        new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday, "IE")
        { SmallestNote = Eur(5m) },
        new KeyIssued("keeper", Role.Keeper, [], "secret"),
        new KeyIssued("payday", Role.Script, [MovementKind.Fill], "secret"),
        new PlaceSet("attic", "Attic", true, ["strongbox"], Sept(1)), new CautionLimitsSet(Eur(200m), null),
        new PlanSet(new DateOnly(2026, 8, 31), Planned((Ferry, 20m), (Market, 40m))),
        new PlanSet(new DateOnly(2026, 9, 14), Planned((Ferry, 22m))),
        new PlanSet(new DateOnly(2026, 9, 21), Planned((Ferry, 25m))),
        new IncomeSourceSet("office", "Office", "month", Sept(1), NotBankDay.Previous, Eur(900m)),
        new StandingPaymentSet("rent", StandingPaymentKind.FixedBill, "Rent", "month", Sept(1), NotBankDay.Next,
            Eur(400m)),
        new FillRuleSet(Ferry, FillRuleKind.Fixed, Eur(30m), null, null, Holding.Cash, 1, null),
        new AutomaticFillsSet(new TimeOnly(6, 30), Sept(1)) { DaysAfter = 2 },
        new GoalSet("hull", Boat, "Hull", Eur(240m), new DateOnly(2026, 12, 15), "P1Y",
            ImmutableSortedDictionary<DateOnly, Money>.Empty.Add(new DateOnly(2027, 12, 15), Eur(260m)), Sept(1)),
        new FundTermsSet(Boat, 60, 125),
        new SavingPlanSet(Van, new SavingSteps(Eur(1m), Eur(1m), 5, [], 7), Sept(1), "P1W"),
        new NotesWished(Ferry, [Eur(10m)], [Eur(50m)], [new Pieces(Eur(5m), 2)]),
        Fill(Ferry, 60m, Sept(2)), Fill(Market, 30m, Sept(3)), Spend(Ferry, 10m, Sept(10)),
        Fill(Van, 20m, Sept(4), Holding.Bank),
        new PaydayLeft(Sept(1), "no pay"), new PaydayLeft(Sept(22), "no pay"),
        Spend(Ferry, 5m, Sept(21)), Reversed(23 + FirstLine - 1, Spend(Ferry, 5m, Sept(21))),
        Fill(Van, 3m, Sept(22)) with { Corrects = new Correction(20 + FirstLine - 1, new DateOnly(2026, 8, 30)) },
        new CountTaken(Ferry, Holding.Cash, Eur(50m), Eur(50m), [new Pieces(Eur(50m), 1)], Sept(22), "", ""),
        new BankStatementRead(Eur(20m), Eur(21m), [new BankPart(Van, Eur(20m))], Sept(22), true, ""),
        new CountRoundOpened([Market], null, null, true), new HandedOver(Market, "partner", Eur(4m), Sept(23), ""),
        new NotesExchanged(Ferry, Market, [new Pieces(Eur(50m), 1)], [new Pieces(Eur(10m), 5)], Sept(23), ""),
        new ClockWasAhead(3, 4, Sept(23), "clock"), new MonthClosed(new Month(new DateOnly(2026, 8, 1)), [], ""),
        Spend(Market, 3m, Sept(23)),
    ];

    private static ImmutableSortedDictionary<string, Money> Planned(params (string Compartment, decimal Amount)[] of) =>
        of.ToImmutableSortedDictionary(a => a.Compartment, a => Eur(a.Amount), StringComparer.Ordinal);

    private static BookLine At(long number, IBookEvent line) =>
        new(number, number, new DateTimeOffset(2026, 9, 24, 8, 0, 0, TimeSpan.Zero), "keeper", line) { Hash = "h" };

    private static JsonElement Json<T>(T value, JsonSerializerOptions options) =>
        JsonSerializer.SerializeToElement(value, options);

    [Fact]
    public void A_book_with_all_its_sections_is_read_as_it_was_written()
    {
        var book = Given(Full).Book;
        Assert.Empty(Section.All.Except(book.Sections.Keys).Select(section => section.Name));

        var read = Json(book, BookJson.OfCopies).Deserialize<Book>(BookJson.OfCopies)!;

        Assert.Equal(Written.Book(book), Written.Book(read));
        Assert.All(Section.All, section => Assert.Equal(
            Json(book, BookJson.OfCopies).GetProperty("sections").GetProperty(section.Name).ToString(),
            Json(read, BookJson.OfCopies).GetProperty("sections").GetProperty(section.Name).ToString()));
    }

    // What grows with the book has tables of its own: a book from the page can't be asked for it.
    [Fact]
    public void The_page_holds_what_does_not_grow_and_what_it_lacks_cannot_be_asked_for()
    {
        var book = Given(Full).Book;
        var read = Json(book, BookJson.Options).Deserialize<Book>(BookJson.Options)!;

        Assert.Equal(["came in", "corrected lines", "daily balances", "fill runs", "late corrections", "plan"],
            Section.All.Where(section => section.GrowsWithTheBook).Select(section => section.Name));
        Assert.Equal(
            Section.All.Where(section => !section.GrowsWithTheBook).Select(section => section.Name).Order(),
            Json(book, BookJson.Options).GetProperty("sections").EnumerateObject().Select(p => p.Name).Order());
        Assert.Equal((book.Line, book.HasAmounts, book.Household, book.ClosedMonths),
            (read.Line, read.HasAmounts, read.Household, read.ClosedMonths));
        Assert.Equal(book.Compartments.Values.OrderBy(c => c.Id), read.Compartments.Values.OrderBy(c => c.Id));
        Assert.Equal(book.Wallets.Values.OrderBy(w => w.Id), read.Wallets.Values.OrderBy(w => w.Id));
        Assert.Equal(book.Keys.Keys.Order(), read.Keys.Keys.Order());
        Assert.Contains("daily balances", Assert.Throws<InvalidOperationException>(() => read.Days).Message);
        Assert.Throws<InvalidOperationException>(() => read.Plan);
    }

    [Fact]
    public void Amounts_are_minor_units_months_and_kinds_are_words_and_what_is_worked_out_or_empty_is_left_out()
    {
        var book = Json(Given(Full).Book, BookJson.OfCopies);
        var count = book.GetProperty("sections").GetProperty("last counts").GetProperty("cash/ferry-fares");

        Assert.Equal((5_000, "2026-09-22"),
            (count.GetProperty("counted").GetInt32(), count.GetProperty("occurredOn").GetString()));
        Assert.False(count.TryGetProperty("difference", out _));
        Assert.Equal(("2026-08", "saving"), (book.GetProperty("closedMonths").GetProperty("first").GetString(),
            book.GetProperty("compartments").GetProperty(Van).GetProperty("purpose").GetString()));
        Assert.True(book.GetProperty("sections").GetProperty("daily balances").TryGetProperty("bank/bakery-van",
            out _));
        Assert.False(book.GetProperty("wallets").GetProperty("market-bag").TryGetProperty("liesIn", out _));

        var posting = Json(new Transferred(Cash(Ferry), Bank(Van), Eur(1m), Today, ""), BookJson.Options);
        Assert.Equal(("bakery-van", "bank"), (posting.GetProperty("to").GetProperty("compartment").GetString(),
            posting.GetProperty("to").GetProperty("holding").GetString()));
        Assert.Equal("A month is written like 2026-11.", Assert.Throws<JsonException>(
            () => JsonSerializer.Deserialize<Month>("\"Nov\"", BookJson.Options)).Message);
    }

    [Fact]
    public void A_line_of_each_kind_is_read_as_it_was_written() => Assert.All(Opening.Concat(Full), line =>
    {
        var written = Json(At(12, line), BookJson.Options);
        var read = written.Deserialize<BookLine>(BookJson.Options)!;

        Assert.Equal(LineKinds.Of(line), written.GetProperty("kind").GetString());
        Assert.Equal((12L, 12L, "keeper", At(12, line).RecordedAt, Written.Line(line)),
            (read.Number, read.EntryId, read.By, read.RecordedAt, Written.Line(read.Event)));
    });

    [Fact]
    public void A_copy_goes_without_what_keys_are_known_by()
    {
        var copy = BookCopy.Of(Given(Full).Book, Sept(20), [At(9, Full[1]), At(10, Full[0])]);

        Assert.All(copy.Book.Keys.Values, key => Assert.Equal("", key.Hash));
        Assert.Equal("", Assert.IsType<KeyIssued>(copy.Lines[0].Event).Hash);
        Assert.Equal(Full[0], copy.Lines[1].Event);
        Assert.Equal(new CopiedFrom(Sept(20), 9), copy.From);
        Assert.Equal(Given(Full).Book.Line + 1, BookCopy.Of(Given(Full).Book, Sept(20), []).From.Line);
    }

    [Fact]
    public void A_copy_has_of_each_day_from_its_first_on_what_the_book_has()
    {
        var book = Given(Full).Book;
        Assert.All([1, 2, 3, 10, 20, 21, 22, 24], (int day) => MustTellTheSame(book, day));
    }

    private static void MustTellTheSame(Book book, int day)
    {
        var copy = BookCopy.Of(book, Sept(day), []).Book;
        for (var later = Sept(day); later <= Sept(30); later = later.AddDays(1))
        {
            Assert.All(book.Days.Keys, part => Assert.Equal(
                (book.BalanceOn(part, later), book.Available(part, later)),
                (copy.BalanceOn(part, later), copy.Available(part, later))));
            Assert.Equal(book.Plan.For(Ferry, later), copy.Plan.For(Ferry, later));
            Assert.Equal(book.Plan.For(Market, later), copy.Plan.For(Market, later));
            Assert.Equal(book.FillRuns.GetValueOrDefault(later), copy.FillRuns.GetValueOrDefault(later));
        }
    }

    // What lies before is left at home: a balance brought forward, and the plan in force.
    [Fact]
    public void A_copy_leaves_what_lies_before_it_at_home()
    {
        var book = Given(Full).Book;
        var copy = BookCopy.Of(book, Sept(21), [At(book.Line, Full[^1])]).Book;

        Assert.Equal([Sept(10), Sept(21)], copy.Days[Cash(Ferry)].Days.Select(d => d.Day));
        Assert.Equal([new DateOnly(2026, 9, 21)], copy.Plan.Of(Ferry).Select(p => p.From));
        Assert.Equal([Sept(22)], copy.FillRuns.Keys);
        Assert.Equal([Sept(14), Sept(21)], BookCopy.Of(book, Sept(20), []).Book.Plan.Of(Ferry).Select(p => p.From));
        Assert.Equal([Sept(1), Sept(22)], BookCopy.Of(book, Sept(1), []).Book.FillRuns.Keys);
        Assert.Single(copy.LateCorrections);
        Assert.Empty(BookCopy.Of(book, Sept(23), []).Book.LateCorrections);
        Assert.Single(BookCopy.Of(book, Sept(22), []).Book.LateCorrections);
    }

    [Fact]
    public void A_copy_knows_the_corrections_written_from_its_first_line_on()
    {
        var lines = Given(Fill(Ferry, 10m), Spend(Ferry, 5m), Spend(Ferry, 4m));
        var (spend, first) = (FirstLine + 1, FirstLine + 3);
        var book = lines.Book.Apply(Reversed(spend, Spend(Ferry, 5m))).Apply(Reversed(spend + 1, Spend(Ferry, 4m)));

        var copy = BookCopy.Of(book, Today, [At(first + 1, Spend(Ferry, 1m))]).Book;
        Assert.Null(copy.Corrections.By(spend));
        Assert.Equal(first, copy.Corrections.Origin(first));
        Assert.Equal(first + 1, copy.Corrections.By(spend + 1));
        Assert.Equal(spend + 1, copy.Corrections.Origin(first + 1));
        var whole = BookCopy.Of(book, Today, [At(first, Spend(Ferry, 1m))]).Book;
        Assert.Equal((first, spend), (whole.Corrections.By(spend), whole.Corrections.Origin(first)));
        Assert.Equal(first, CorrectedLines.Of([(first, spend, true)]).By(spend));
    }

    [Fact]
    public void Lines_that_follow_are_added_to_a_copy_as_to_the_book()
    {
        var book = Given(Full).Book;
        var next = At(book.Line + 1, Spend(Ferry, 2m));
        var copy = (BookCopy.Of(book, Sept(1), [At(book.Line, Full[^1])]) with { Hash = "before" })
            .With([next], "after");

        Assert.Equal(("after", book.Line + 1), (copy.Hash, copy.Book.Line));
        Assert.Equal([book.Line, book.Line + 1], copy.Lines.Select(l => l.Number));
        Assert.Equal(book.Compartments[Ferry].Cash - Eur(2m), copy.Book.Compartments[Ferry].Cash);
    }

    [Fact]
    public void The_page_of_days_asked_for_is_told_from_the_day_on()
    {
        var days = Given(Full).Book.Days[Cash(Ferry)];

        Assert.Equal([(Sept(10), Eur(50m)), (Sept(21), Eur(50m))],
            days.Since(Sept(3)).Select(d => (d.Day, d.Closing)));
        Assert.Equal([Sept(10), Sept(21)], days.Since(Sept(10)).Select(d => d.Day));
        Assert.Equal([Sept(2), Sept(10), Sept(21)], days.Since(Sept(1)).Select(d => d.Day));
        Assert.Equal([Sept(21)], days.Since(Sept(11)).Select(d => d.Day));
        Assert.Empty(days.Since(Sept(22)));
        Assert.Empty(DailyBalances.Empty.Since(Sept(1)));
    }

    [Fact]
    public void On_a_day_each_compartment_holds_what_it_closed_the_day_with()
    {
        var then = Given(Full).Book.OnDay(Sept(3));

        Assert.Equal((Eur(60m), Eur(30m), Money.Zero, Money.Zero), (then.Compartments[Ferry].Cash,
            then.Compartments[Market].Cash, then.Compartments[Van].Bank, then.Compartments[Ferry].Bank));
        Assert.Equal(Eur(20m), Given(Full).Book.OnDay(Sept(4)).Compartments[Van].Bank);
    }

    [Fact]
    public void More_than_a_book_can_hold_is_refused()
    {
        var most = new Filled(Ferry, Holding.Cash, new Money(long.MaxValue), Today, "");

        var refused = Assert.Throws<RefusalException>(() => Given(most).Book.Decide(new Twice(most), Today)).Refusal;

        Assert.Equal(("too-much", "The amounts of this book would add up to more than it can hold."),
            (refused.Code, refused.Detail));
    }

    [Fact]
    public void A_compartment_is_known_from_the_line_that_opened_it()
    {
        var book = Given().Book;

        Assert.Equal(Ferry, book.CompartmentNamed(Ferry, null).Id);
        Assert.Equal(Ferry, book.CompartmentNamed(Ferry, 4).Id);
        Assert.Equal("There was no compartment 'ferry-fares' at line 3: line 4 opened it.",
            Assert.Throws<RefusalException>(() => book.CompartmentNamed(Ferry, 3)).Refusal.Detail);
    }

    private sealed record Twice(IBookEvent Line) : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => [Line];
    }
}
