using System.Collections.Immutable;

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

    private static Book GivenBookOf(params IBookEvent[] lines) =>
        lines.Aggregate(Book.Empty, (book, line) => book.Apply(line)) with { NotLoaded = [BalancesInBook.Days] };

    private static Part Cash(string compartment) => new(compartment, Holding.Cash);
}
