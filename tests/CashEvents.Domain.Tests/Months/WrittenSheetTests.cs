using System.Globalization;
using CsCheck;

namespace CashEvents.Domain.Tests.Months;

/// <summary>Dates and amounts as pens and spreadsheets write them.</summary>
public class WrittenSheetTests
{
    private static readonly Gen<decimal> _amount = Gen.Long[-9_999_999, 9_999_999].Select(minor => minor / 100m);

    private static readonly string[] _forms = ["d/M/yyyy", "MM-dd-yyyy", "yyyy-MM-dd", "dd.MM.yyyy", "yyyy/M/d"];

    private static readonly Gen<string> _form = Gen.Int[0, _forms.Length - 1].Select(which => _forms[which]);

    // The grouping of thousands follows the cultures of .NET, which take it from the Unicode CLDR.
    [Theory]
    [InlineData("en-GB", ".")]
    [InlineData("de-DE", ",")]
    [InlineData("fr-FR", ",")]
    [InlineData("de-CH", ".")]
    [InlineData("nb-NO", ",")]
    [InlineData("pl-PL", ",")]
    public void An_amount_is_read_as_the_culture_wrote_it(string culture, string decimalMark)
    {
        var format = (NumberFormatInfo)CultureInfo.GetCultureInfo(culture).NumberFormat.Clone();
        Assert.Equal(decimalMark, format.NumberDecimalSeparator);

        _amount.Sample(amount => Assert.Equal(new Money((long)(amount * 100)),
            One(amount.ToString("N2", format)).Amount));
    }

    [Theory]
    [InlineData("JPY", "1,234", 1234)]
    [InlineData("JPY", "1.234", 1234)]
    [InlineData("KWD", "0.250", 250)]
    [InlineData("KWD", "1234.250", 1_234_250)]
    [InlineData("KWD", "1,234.250", 1_234_250)]
    [InlineData("EUR", "1.234.567", 123_456_700)]
    [InlineData("EUR", "8.4", 840)]
    [InlineData("EUR", "8,4-", -840)]
    [InlineData("EUR", "+8.40", 840)]
    [InlineData("EUR", "(8.40)", -840)]
    [InlineData("EUR", "€ -8.40", -840)]
    [InlineData("EUR", "-8.40 EUR", -840)]
    [InlineData("USD", "-$1,208.40", -120_840)]
    public void An_amount_with_one_meaning_is_understood(string currency, string written, long minor) =>
        Assert.Equal(new Money(minor), One(written, currency).Amount);

    [Theory]
    [InlineData("KWD", "1.234", "decimal-mark-unclear")]
    [InlineData("EUR", "12,345", "decimal-mark-unclear")]
    [InlineData("EUR", "(-8.40)", "amount-unreadable")]
    [InlineData("EUR", "--8.40", "amount-unreadable")]
    [InlineData("EUR", "8.40.1", "amount-unreadable")]
    [InlineData("EUR", "1,23,456", "amount-unreadable")]
    [InlineData("EUR", ".50", "amount-unreadable")]
    [InlineData("EUR", "5.", "amount-unreadable")]
    [InlineData("EUR", "8 40", "amount-unreadable")]
    [InlineData("EUR", "8.40 USD", "amount-unreadable")]
    [InlineData("EUR", "₹8.40", "amount-unreadable")]
    [InlineData("EUR", "1e3", "amount-unreadable")]
    [InlineData("EUR", "999999999999999999999999999999999", "amount-unreadable")]
    [InlineData("EUR", "99999999999.00", "amount-too-large")]
    public void An_amount_without_one_meaning_is_not_guessed(string currency, string written, string code) =>
        Assert.Equal(code, Assert.Throws<RefusalException>(() => One(written, currency)).Refusal.Code);

    [Fact]
    public void Dates_written_in_any_one_order_are_read_as_they_were_or_asked_about() =>
        Gen.Select(Gen.Select(Gen.Int[2020, 2029], Gen.Int[1, 12], Gen.Int[1, 28],
            (y, m, d) => new DateOnly(y, m, d)).Array[1, 12], _form).Sample((days, form) =>
        {
            var rows = days.Select((d, i) =>
                new WrittenRow(i + 2, d.ToString(form, CultureInfo.InvariantCulture), "", "1.00", "")).ToList();
            var order = form[0] switch
            {
                'd' => DateOrder.DayFirst,
                'M' => DateOrder.MonthFirst,
                _ => DateOrder.YearFirst
            };

            var said = TrackerSheet.Read(rows, Currency.Of("EUR"), Holding.Cash, order);
            Assert.Equal(days, said.Rows.Select(r => r.Date));
            try
            {
                Assert.Equal(days, TrackerSheet.Read(rows, Currency.Of("EUR"), Holding.Cash).Rows.Select(r => r.Date));
            }
            catch (RefusalException asked)
            {
                // Asked about only when no day is after the twelfth.
                Assert.Equal("date-order-unclear", asked.Refusal.Code);
                Assert.True(order != DateOrder.YearFirst && days.All(d => d.Day <= 12));
            }
        });

    private static SheetRow One(string amount, string currency = "EUR") =>
        TrackerSheet.Read([new WrittenRow(2, "2026-11-03", "Return", amount, "")], Currency.Of(currency),
            Holding.Cash).Rows.Single();
}
