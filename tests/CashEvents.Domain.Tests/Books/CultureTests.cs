using System.Globalization;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Books;

/// <summary>A machine set to another language and calendar keeps the same book and says the same.</summary>
public class CultureTests
{
    [Theory]
    [InlineData("de-DE")] // writes 40,00
    [InlineData("th-TH")] // counts years by the Buddhist calendar
    [InlineData("ar-SA")] // counts them by the Hijri calendar
    [InlineData("tr-TR")] // has an i without a dot
    [InlineData("fa-IR")]
    public void Dates_amounts_and_ids_read_the_same_under_any_culture(string culture)
    {
        var before = CultureInfo.CurrentCulture;
        CultureInfo.CurrentCulture = CultureInfo.GetCultureInfo(culture);
        try
        {
            var book = Given(Fill(Ferry, 40m, Sept(1)), Count(Ferry, 40m, 39m, Sept(10)), Spend(Ferry, 35m, Sept(12)),
                Fill(Ferry, 1_234m, Sept(13)));

            var late = book.When(new RecordFill(Ferry, Holding.Cash, 1m, Sept(25), null))
                .ThenRefused("after-today", "occurredOn").Detail;
            var lacking = book.When(new RecordSpend(Ferry, Holding.Cash, 6.5m, Sept(2), null))
                .ThenRefused("not-enough", "amount").Detail;
            var early = book.When(new SettleCount(FirstLine + 1, "agreed", Sept(9)))
                .ThenRefused("before-count", "occurredOn").Detail;

            Assert.StartsWith("2026-09-25 is after the household's today, 2026-09-24:", late);
            Assert.StartsWith("The cash of 'ferry-fares' closes 2026-09-12 at 5.00 EUR, so no more than that can be "
                + "taken on 2026-09-02: 1.50 EUR is missing.", lacking);
            Assert.StartsWith("The count was taken on 2026-09-10:", early);
            Assert.Equal("-1234567.89 EUR", Currency.Of("EUR").Say(new Money(-123_456_789)));
            Assert.Equal("island-ticket", Slug.From("ISLAND TICKET"));
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }
}
