using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class TrackerStripsTests
{
    [Fact]
    public void A_sheet_without_rows_is_one_strip_to_write_on_by_pencil()
    {
        var strip = Assert.Single(TrackerStrips.Of(Sheet(12.40m, []), StripSize.Insert).Strips);

        Assert.Equal((12.40m, 12.40m, StripSize.Insert.Rulings - 2), (strip.Opening, strip.Closing, strip.Empty));
    }

    [Theory]
    [InlineData(10, 1, 3)]
    [InlineData(11, 2, 13)]
    [InlineData(13, 2, 13)]
    [InlineData(14, 2, 12)]
    [InlineData(26, 3, 13)]
    public void Rows_that_do_not_fit_go_on_on_the_next_strip_and_the_last_has_room_to_go_on(int rows, int strips,
        int empty)
    {
        var divided = TrackerStrips.Of(Sheet(100m, Enumerable.Repeat("Single, evening boat", rows)),
            StripSize.Insert).Strips;

        Assert.Equal((strips, empty), (divided.Count, divided[^1].Empty));
    }

    [Fact]
    public void A_row_takes_as_many_rulings_as_its_words_need()
    {
        var rows = TrackerStrips.Of(Sheet(9m, ["", "Return", new string('o', 200)]), StripSize.Insert).Strips
            .SelectMany(s => s.Rows)
            .ToList();

        Assert.Equal(["spend", "Return", new string('o', 200)], rows.Select(r => r.Words));
        Assert.Equal([1, 1, 4], rows.Select(r => r.Rulings));
    }

    [Fact]
    public void The_bank_is_named_where_both_holdings_are_on_the_sheet()
    {
        var both = Sheet(9m, ["Insurance"], holding: Holding.Bank);

        Assert.Equal("Insurance (bank)", TrackerStrips.Of(both, StripSize.Insert).Strips[0].Rows[0].Words);
        Assert.Equal("Insurance",
            TrackerStrips.Of(both with { Holding = Holding.Bank }, StripSize.Insert).Strips[0].Rows[0].Words);
    }

    [Fact]
    public void Corrections_are_named_by_their_lines()
    {
        var sheet = Sheet(9m, ["Single", "Read again", "Single"]);
        var corrected = sheet with
        {
            Rows =
            [sheet.Rows[0] with { ReversedBy = 3, AmendedBy = 4 }, sheet.Rows[1] with { Reverses = 2 },
                sheet.Rows[2] with { Amends = 2 }]
        };

        Assert.Equal(
            ["Single (line 2, undone by 3, replaced by 4)", "Read again (line 3, undoes 2)",
                "Single (line 4, instead of 2)"],
            TrackerStrips.Of(corrected, StripSize.Insert).Strips[0].Rows.Select(r => r.Words));
    }

    [Fact]
    public void Every_row_is_on_one_strip_in_order_each_opens_with_what_the_one_before_brings_and_none_overflows() =>
        Gen.Select(Gen.Int[0, 200].Select(length => new string('n', length)).List[0, 80],
            Gen.Long[0, 99_999_999_999_999], Gen.OneOf([.. StripSize.All(Currency.Of("EUR")).Select(Gen.Const)]),
            Gen.Int[0, 40])
            .Sample((words, opening, size, blank) =>
        {
            var sheet = Sheet(opening / 100m, words);
            var strips = TrackerStrips.Of(sheet, size, blank).Strips;

            Assert.Equal(sheet.Rows, strips.SelectMany(s => s.Rows).Select(r => r.Row));
            Assert.Equal(strips.SkipLast(1).Select(s => s.Closing).Prepend(sheet.OpeningBalance),
                strips.Select(s => s.Opening));
            Assert.Equal(sheet.ClosingBalance, strips[^1].Closing);
            Assert.All(strips, s => Assert.True(s.Rows.Sum(r => r.Rulings) + s.Empty + 2 <= size.Rulings));
            Assert.True(strips[^1].Empty >= Math.Min(blank, size.Rulings - 2));
        });

    [Theory]
    [InlineData("insert", "9.99", "13", "9")]
    [InlineData("insert", "9999999999.99", "29.8", "9")]
    [InlineData("note-5", "1234.00", "15.6", "9")]
    [InlineData("note-5", "9999999999.99", "18.5", "5.4")]
    public void Columns_are_as_wide_as_the_longest_amount_and_letters_shrink_past_that(string size,
        string opening, string width, string letters)
    {
        var strips = TrackerStrips.Of(Sheet(decimal.Parse(opening), []),
            StripsAsked.SizeOf(size, Currency.Of("EUR")));

        Assert.Equal((decimal.Parse(width), decimal.Parse(letters)), (strips.AmountWidth, strips.AmountSize));
    }

    // Euro notes: Decision ECB/2003/4, article 1, as EUR-Lex summarises it; a strip is as a note that stands upright.
    [Theory]
    [InlineData("note-5", 62, 120)]
    [InlineData("note-10", 67, 127)]
    [InlineData("note-20", 72, 133)]
    [InlineData("note-50", 77, 140)]
    public void A_strip_is_as_large_as_the_note_that_it_lies_behind(string size, int width, int height)
    {
        var strip = StripsAsked.SizeOf(size, Currency.Of("EUR"));

        Assert.Equal((width, height), (strip.Width, strip.Height));
        Assert.True(strip.Rulings >= TrackerStrips.LeastEmpty + 3);
    }

    private static TrackerAnswer Sheet(decimal opening, IEnumerable<string> words, Holding holding = Holding.Cash)
    {
        var rows = words.Select((w, i) =>
            new TrackerRowAnswer(i + 2, new DateOnly(2026, 11, 3), "spend", holding, w, -0.01m,
                opening - ((i + 1) * 0.01m))).ToList();
        return new TrackerAnswer("ferry-fares", "Ferry fares", "2026-11", null, opening, rows,
            opening - (rows.Count * 0.01m), rows.Count + 1);
    }
}
