namespace CashEvents.Domain.Tests.Naming;

public class WordsTests
{
    [Theory]
    [InlineData("  Market bag ", "Market bag")]
    [InlineData("\tMarket bag\r\n", "Market bag")]
    [InlineData("Ördög's 葛 ⛴️", "Ördög's 葛 ⛴️")]
    [InlineData("נמל", "נמל")]
    [InlineData("می‌خواهم", "می‌خواهم")]
    [InlineData("👩‍👧 days", "👩‍👧 days")]
    public void Words_are_trimmed_and_otherwise_kept_as_written(string written, string kept)
    {
        Assert.Equal(kept, Words.Name(written, "label"));
        Assert.Equal(kept, Words.Description(written));
        Assert.Equal(kept, Words.Reason(written));
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData(" \u00A0\u3000 ")]
    [InlineData("\u200B\u200D")]
    [InlineData("\uFEFF")]
    public void A_name_or_a_reason_has_something_to_see(string? written)
    {
        Assert.Equal(("words-missing", "label"), Refused(() => Words.Name(written, "label")));
        Assert.Equal(("words-missing", "reason"), Refused(() => Words.Reason(written)));
    }

    [Fact]
    public void A_description_may_be_left_out()
    {
        Assert.Equal("", Words.Description(null));
        Assert.Equal("", Words.Description("  "));
    }

    [Fact]
    public void A_name_has_80_characters_at_most_and_a_description_200()
    {
        Assert.Equal(80, Words.Name(new string('a', 80), "label").Length);
        Assert.Equal(80, Words.Name(" " + new string('a', 80) + " ", "label").Length);
        Assert.Equal(("words-too-long", "label"), Refused(() => Words.Name(new string('a', 81), "label")));
        Assert.Equal(200, Words.Description(new string('a', 200)).Length);
        Assert.Equal(("words-too-long", "description"), Refused(() => Words.Description(new string('a', 201))));
        Assert.Equal(("words-too-long", "witness"), Refused(() => Words.Description(new string('a', 201), "witness")));
        Assert.Equal(("words-too-long", "reason"), Refused(() => Words.Reason(new string('a', 201))));
    }

    [Theory]
    [InlineData("Market\nbag")]
    [InlineData("Market\rbag")]
    [InlineData("Market\tbag")]
    [InlineData("Market\0bag")]
    [InlineData("Market\u007Fbag")]
    [InlineData("Market\u0085bag")]
    [InlineData("Market\u2028bag")]
    [InlineData("Market\u2029bag")]
    public void Control_characters_and_line_ends_are_refused(string written) =>
    Assert.Equal(("words-unprintable", "label"), Refused(() => Words.Name(written, "label")));

    [Theory]
    [InlineData('\u202A')]
    [InlineData('\u202B')]
    [InlineData('\u202C')]
    [InlineData('\u202D')]
    [InlineData('\u202E')]
    [InlineData('\u2066')]
    [InlineData('\u2067')]
    [InlineData('\u2068')]
    [InlineData('\u2069')]
    public void Marks_that_turn_the_direction_of_what_follows_are_refused(char mark) =>
        Assert.Equal(("words-unprintable", "label"), Refused(() => Words.Name($"Market{mark}bag", "label")));

    // Not as a theory: the arguments of an attribute are stored as UTF-8, which has no halves.
    [Fact]
    public void Halves_of_a_letter_are_refused() =>
        Assert.All(
            ["\uD83D", "\uDE00", "bag \uD83D", "\uD83D bag", "\uDE00\uD83D", "⛴😀\uDE00", "😀\uD83D😀"],
            (string written) => Assert.Equal(("words-unprintable", "label"),
                Refused(() => Words.Name(written, "label"))));

    [Fact]
    public void The_place_of_what_does_not_print_is_told() =>
        Assert.Contains("position 8",
            Assert.Throws<RefusalException>(() => Words.Name("Market \u202Ebag", "label")).Refusal.Detail);

    private static (string, string?) Refused(Func<string> words)
    {
        var refusal = Assert.Throws<RefusalException>(words).Refusal;
        Assert.Equal(RefusalSort.Unfit, refusal.Sort);
        return (refusal.Code, refusal.Field);
    }
}
