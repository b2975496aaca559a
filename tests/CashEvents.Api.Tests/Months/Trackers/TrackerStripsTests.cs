using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Months;

public sealed class TrackerStripsTests
{
    [Fact]
    public void A_sheet_without_rows_is_one_strip_to_write_on_by_pencil()
    {
        var strip = Assert.Single(TrackerStrips.Of(Sheet(12.40m, [])).Strips);

        Assert.Equal((12.40m, 12.40m, TrackerStrips.Rulings - 2), (strip.Opening, strip.Closing, strip.Empty));
    }

    [Theory]
    [InlineData(17, 1, 3)]
    [InlineData(18, 2, 20)]
    [InlineData(20, 2, 20)]
    [InlineData(21, 2, 19)]
    [InlineData(40, 3, 20)]
    public void Rows_that_do_not_fit_go_on_on_the_next_strip_and_the_last_has_room_to_go_on(int rows, int strips,
        int empty)
    {
        var divided = TrackerStrips.Of(Sheet(100m, Enumerable.Repeat("Single, evening boat", rows))).Strips;

        Assert.Equal((strips, empty), (divided.Count, divided[^1].Empty));
    }

    [Fact]
    public void A_row_takes_as_many_rulings_as_its_words_need()
    {
        var rows = TrackerStrips.Of(Sheet(9m, ["", "Return", new string('o', 200)])).Strips.SelectMany(s => s.Rows)
            .ToList();

        Assert.Equal(["spend", "Return", new string('o', 200)], rows.Select(r => r.Words));
        Assert.Equal([1, 1, 5], rows.Select(r => r.Rulings));
    }

    [Fact]
    public void The_bank_is_named_where_both_holdings_are_on_the_sheet()
    {
        var both = Sheet(9m, ["Insurance"], holding: Holding.Bank);

        Assert.Equal("Insurance (bank)", TrackerStrips.Of(both).Strips[0].Rows[0].Words);
        Assert.Equal("Insurance", TrackerStrips.Of(both with { Holding = Holding.Bank }).Strips[0].Rows[0].Words);
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
            TrackerStrips.Of(corrected).Strips[0].Rows.Select(r => r.Words));
    }

    [Fact]
    public void Every_row_is_on_one_strip_in_order_each_opens_with_what_the_one_before_brings_and_none_overflows() =>
        Gen.Select(Gen.Int[0, 200].Select(length => new string('n', length)).List[0, 80],
            Gen.Long[0, 99_999_999_999_999]).Sample((words, opening) =>
        {
            var sheet = Sheet(opening / 100m, words);
            var strips = TrackerStrips.Of(sheet).Strips;

            Assert.Equal(sheet.Rows, strips.SelectMany(s => s.Rows).Select(r => r.Row));
            Assert.Equal(strips.SkipLast(1).Select(s => s.Closing).Prepend(sheet.OpeningBalance),
                strips.Select(s => s.Opening));
            Assert.Equal(sheet.ClosingBalance, strips[^1].Closing);
            Assert.All(strips, s => Assert.True(s.Rows.Sum(r => r.Rulings) + s.Empty + 2 <= TrackerStrips.Rulings));
            Assert.True(strips[^1].Empty >= TrackerStrips.LeastEmpty);
        });

    [Theory]
    [InlineData("9.99", "13", "7.5")]
    [InlineData("1234567.89", "19.2", "7.5")]
    [InlineData("9999999999.99", "24", "7.2")]
    public void Columns_are_as_wide_as_the_longest_amount_and_letters_shrink_past_that(string opening, string width,
        string size)
    {
        var strips = TrackerStrips.Of(Sheet(decimal.Parse(opening), []));

        Assert.Equal((decimal.Parse(width), decimal.Parse(size)), (strips.AmountWidth, strips.AmountSize));
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
