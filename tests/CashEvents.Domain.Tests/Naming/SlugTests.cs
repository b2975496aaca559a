using System.Globalization;
using System.Text;
using CsCheck;

namespace CashEvents.Domain.Tests.Naming;

public class SlugTests
{
    [Theory]
    [InlineData("Ferry fares", "ferry-fares")]
    [InlineData("  Ferry   fares  ", "ferry-fares")]
    [InlineData("ferry-fares", "ferry-fares")]
    [InlineData("Ferry & fares (2026)!", "ferry-fares-2026")]
    [InlineData("--Ferry__fares--", "ferry-fares")]
    [InlineData("Ferry\tfares", "ferry-fares")]
    [InlineData("50/50", "50-50")]
    public void Punctuation_and_spaces_become_single_hyphens(string name, string slug) =>
    Assert.Equal(slug, Slug.From(name));

    [Theory]
    [InlineData("Baker's van", "bakers-van")]
    [InlineData("Baker’s van", "bakers-van")]
    [InlineData("Bakers' van", "bakers-van")]
    public void Apostrophes_go_without_a_trace(string name, string slug) => Assert.Equal(slug, Slug.From(name));

    [Theory]
    [InlineData("Café crème", "cafe-creme")]
    [InlineData("Cafe\u0301", "cafe")]
    [InlineData("Straße", "strasse")]
    [InlineData("STRAẞE", "strasse")]
    [InlineData("Smørrebrød", "smorrebrod")]
    [InlineData("Œuvres", "oeuvres")]
    [InlineData("Łódź", "lodz")]
    [InlineData("Đà Nẵng", "da-nang")]
    [InlineData("Þórshöfn", "thorshofn")]
    [InlineData("Ísafjörður", "isafjordur")]
    [InlineData("İzmir", "izmir")]
    [InlineData("ISPARTA Isıtma", "isparta-isitma")]
    public void Latin_letters_lose_their_accents(string name, string slug) => Assert.Equal(slug, Slug.From(name));

    [Theory]
    [InlineData("Паром", "паром")]
    [InlineData("Φέρι μποτ", "φερι-μποτ")]
    [InlineData("フェリー 運賃", "フェリー-運賃")]
    [InlineData("が", "が")]
    [InlineData("여객선 요금", "여객선-요금")]
    [InlineData("नाव का किराया", "नाव-का-किराया")]
    [InlineData("ค่าเรือ", "ค่าเรือ")]
    [InlineData("أجرة العبارة", "أجرة-العبارة")]
    [InlineData("𠮷野 fares", "𠮷野-fares")]
    [InlineData("𐐔𐐯𐑅", "𐐼𐐯𐑅")]
    public void Letters_of_other_scripts_stay_with_the_marks_that_their_words_need(string name, string slug) =>
    Assert.Equal(slug, Slug.From(name));

    [Theory]
    [InlineData("⛴️ Ferry ⛴️", "ferry")]
    [InlineData("1️⃣ Ferry", "1-ferry")]
    [InlineData("葛\uDB40\uDD00", "葛")]
    public void Pictures_and_variants_of_a_letter_are_no_part_of_an_id(string name, string slug) =>
    Assert.Equal(slug, Slug.From(name));

    [Theory]
    [InlineData("")]
    [InlineData("   ")]
    [InlineData("!?-—")]
    [InlineData("⛴️")]
    [InlineData("\u0301")]
    public void A_name_without_letters_or_digits_has_no_slug(string name) => Assert.Equal("", Slug.From(name));

    [Fact]
    public void What_is_no_character_parts_words_as_punctuation_does()
    {
        Assert.Equal("ferry-fares", Slug.From("ferry\uD83Dfares"));
        Assert.Equal("ferry-fares", Slug.From("ferry\uFFFEfares"));
        Assert.Equal("", Slug.From("\uD800"));
    }

    [Fact]
    public void Sixty_characters_are_kept()
    {
        Assert.Equal(new string('a', 60), Slug.From(new string('a', 80)));
        Assert.Equal(new string('a', 59), Slug.From(new string('a', 59) + " b"));
        Assert.Equal(new string('가', 60), Slug.From(new string('가', 80)));
    }

    [Fact]
    public void The_cut_does_not_halve_a_letter_outside_the_basic_plane() =>
        Assert.Equal(new string('a', 59), Slug.From(new string('a', 59) + "𠮷"));

    [Fact]
    public void A_slug_is_its_own_slug() => Names.Sample(name =>
    {
        var slug = Slug.From(name);
        return Slug.From(slug) == slug;
    });

    [Fact]
    public void A_slug_of_any_single_letter_is_its_own_slug() =>
        Assert.All(
            Enumerable.Range(0, 0x110000).Where(Rune.IsValid).Select(value => new Rune(value).ToString())
                .Where(letter => Slug.From(letter) != Slug.From(Slug.From(letter))),
            letter => Assert.Fail($"U+{char.ConvertToUtf32(letter, 0):X4}"));

    [Fact]
    public void A_slug_has_letters_and_digits_with_their_marks_and_single_hyphens_between_and_at_most_60_characters() =>
    Names.Sample(name =>
    {
        var slug = Slug.From(name);

        Assert.InRange(slug.Length, 0, 60);
        Assert.True(slug.IsNormalized());
        Assert.DoesNotContain("--", slug, StringComparison.Ordinal);
        Assert.Equal(slug.Trim('-'), slug);
        Assert.All(slug.EnumerateRunes(), rune => Assert.True(
            rune.Value == '-' || Rune.IsLetterOrDigit(rune)
            || Rune.GetUnicodeCategory(rune) is UnicodeCategory.NonSpacingMark or UnicodeCategory.SpacingCombiningMark
                or UnicodeCategory.EnclosingMark));
    });

    [Fact]
    public void A_name_of_plain_letters_and_digits_is_its_slug_but_for_the_capitals() =>
        Gen.String[Gen.Char["abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"], 0, 60]
            .Sample(name => string.Equals(Slug.From(name), name, StringComparison.OrdinalIgnoreCase));

    // Latin words, any UTF-16 whatever (lone surrogates too), and marks in bad places.
    private static Gen<string> Names => Gen.OneOf(
        Gen.String[Gen.OneOf(Gen.Char["abcXYZ019 -_'’&éßøİı"], Gen.Char), 0, 90],
        Gen.String[Gen.Char['\u0000', '\uFFFF'], 0, 90],
        Gen.String[Gen.OneOf(Gen.Char['\u0900', '\u0E7F'], Gen.Char['\u0300', '\u036F'], Gen.Char['\u1100', '\u11FF'],
            Gen.Char['\uD800', '\uDFFF']), 0, 90]);
}
