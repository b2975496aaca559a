using CashEvents.Domain.Books;
using CashEvents.Domain.Households;
using CashEvents.Domain.Weeks;
using CashEvents.Store.Books;
using CashEvents.Store.Columns;

namespace CashEvents.Store.Weeks;

/// <summary>Sheets of weeks as they were read.</summary>
/// <param name="Book">The book as it stood.</param>
/// <param name="Today">The household's date.</param>
/// <param name="Sheets">One for each slice asked for, in order.</param>
public sealed record WeekSheets(Book Book, DateOnly Today, IReadOnlyList<WeekSheet> Sheets);

/// <summary>Reads weeks against their plan. The work follows the weeks asked for and those since their year began, not the length of the book.</summary>
public sealed class WeekReader(BookReader books, ColumnReader columns, TimeProvider clock)
{
    /// <summary>The sheets of some slices.</summary>
    /// <param name="household">Whose book.</param>
    /// <param name="ask">The slices to read, given the household and its date; at least one, and they follow one another.</param>
    /// <param name="cancellation">Gives up.</param>
    public async Task<WeekSheets> ReadAsync(string household, Func<Household, DateOnly, IReadOnlyList<WeekSlice>> ask, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(ask);
        var owner = (await books.ReadAsync(household, cancellation).ConfigureAwait(false)).Household!;
        var today = owner.DateAt(clock.GetUtcNow());
        var slices = ask(owner, today);
        var (book, totals) = await columns.ReadAsync(
            household, [.. WeekSlice.SinceYearBegan(slices).Select(slice => slice.First)], slices[^1].Last, cancellation).ConfigureAwait(false);
        return new WeekSheets(book, today, WeekSheet.Of(book, slices, totals, today));
    }
}
