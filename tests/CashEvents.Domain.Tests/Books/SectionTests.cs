using System.Collections.Immutable;
using System.Text.Json;

namespace CashEvents.Domain.Tests.Books;

/// <summary>
/// A book that was loaded without a part of it can't be asked for that part: there is no silent zero.
/// </summary>
public sealed class SectionTests
{
    private static readonly Dictionary<Section, Action<Book>> _asked = new()
    {
        [BalancesInBook.Days] = book => book.Available(Cash("ferry-fares"), new(2026, 9, 24)),
        [BalancesInBook.Corrections] = book => book.Corrections.By(1),
        [BalancesInBook.LateCorrections] = book => book.ExpectedOn(Cash("ferry-fares"), new(2026, 9, 24)),
        [PlansInBook.Plan] = book => book.Plan.Of("ferry-fares"),
        [PaydaysInBook.FillRuns] = book => book.FillRuns.ContainsKey(new(2026, 9, 1)),
        [MovementsInBook.CameIn] = book => book.CameIn.ContainsKey(Cash("ferry-fares")),
    };

    public static TheoryData<string> Growing =>
        [.. Section.All.Where(section => section.GrowsWithTheBook).Select(section => section.Name)];

    [Theory]
    [MemberData(nameof(Growing))]
    public void A_book_loaded_without_a_section_refuses_to_be_asked_for_it(string name)
    {
        var section = Section.All.Single(s => s.Name == name);

        var fault = Assert.Throws<InvalidOperationException>(
            () => _asked[section](Book.Empty with { NotLoaded = [section] }));

        Assert.Contains(name, fault.Message, StringComparison.Ordinal);
        _asked[section](Book.Empty);
    }

    [Fact]
    public void A_line_that_moves_money_is_not_written_on_a_book_without_its_daily_balances() =>
    Assert.Throws<InvalidOperationException>(() =>
        GivenBookOf(new CompartmentOpened("ferry-fares", "Ferry fares", "oilskin-wallet", Purpose.Spending)).Apply(
            new Filled("ferry-fares", Holding.Cash, new Money(100), new(2026, 9, 24), "")));

    [Fact]
    public void A_section_that_is_loaded_later_can_be_asked_for() => Assert.Empty(
        (Book.Empty with { NotLoaded = [BalancesInBook.Days] })
            .With(BalancesInBook.Days, ImmutableDictionary<Part, DailyBalances>.Empty).Days);

    [Fact]
    public void What_a_section_of_a_copy_that_was_read_before_keeps_is_read_once_it_is_asked_for()
    {
        var book = HarbourRow.Opening.Append(HarbourRow.Fill(HarbourRow.Market, 50m))
            .Aggregate(Book.Empty, (b, line) => b.Apply(line));
        var written = JsonSerializer.SerializeToNode(book, BookJson.OfCopies)!;

        var kept = written.Deserialize<Book>(BookJson.OfCopiesReadBefore)!;
        var next = HarbourRow.Spend(HarbourRow.Market, 9.60m);
        Assert.Equal(Written.Book(book.Apply(next)), Written.Book(kept.Apply(next)));

        // Only who asks for what can't be read is told so.
        written["sections"]!["places"] = "torn";
        Assert.Throws<JsonException>(() => written.Deserialize<Book>(BookJson.OfCopies));
        var torn = written.Deserialize<Book>(BookJson.OfCopiesReadBefore)!;
        Assert.Equal(HarbourRow.Eur(50m), torn.BalanceOn(HarbourRow.Cash(HarbourRow.Market), HarbourRow.Today));
        Assert.Throws<JsonException>(() => torn.Places);
    }

    private static Book GivenBookOf(params IBookEvent[] lines) =>
        lines.Aggregate(Book.Empty, (book, line) => book.Apply(line)) with { NotLoaded = [BalancesInBook.Days] };

    private static Part Cash(string compartment) => new(compartment, Holding.Cash);
}
