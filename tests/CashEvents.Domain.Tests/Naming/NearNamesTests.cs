using CsCheck;

namespace CashEvents.Domain.Tests.Naming;

public class NearNamesTests
{
    private static readonly string[] Ids = ["bakery-van", "boat-insurance", "ferry-fares", "market-days"];

    [Theory]
    [InlineData("ferry-fares", "ferry-fares")]
    [InlineData("Ferry Fares", "ferry-fares")]
    [InlineData("fery-fares", "ferry-fares")]
    [InlineData("ferry-faers", "ferry-fares")]
    [InlineData("frery-fraes", "ferry-fares")]
    [InlineData("ferry", "ferry-fares")]
    [InlineData("boa", "boat-insurance")]
    [InlineData("market-day", "market-days")]
    [InlineData("barkery-vans", "bakery-van")]
    public void Slips_of_the_pen_and_beginnings_are_understood(string written, string meant) =>
    Assert.Equal([meant], NearNames.Of(written, Ids));

    [Theory]
    [InlineData("lighthouse")]
    [InlineData("bo")]
    [InlineData("")]
    [InlineData("?!")]
    [InlineData("\uFFFE")]
    public void What_is_near_nothing_suggests_nothing(string written) => Assert.Empty(NearNames.Of(written, Ids));

    [Fact]
    public void The_nearest_comes_first_then_by_name_and_three_at_most() =>
        Assert.Equal(["jar-1", "jar-11", "jar-2"], NearNames.Of("jar-1", ["jar-3", "jar-2", "jar-11", "jar-1"]));

    [Fact]
    public void Two_neighbours_swapped_are_one_step() => Assert.Equal(["bat"], NearNames.Of("abt", ["bat", "tab"]));

    [Fact]
    public void A_name_with_one_letter_changed_added_or_lost_is_found() =>
        Gen.Select(Gen.OneOf([.. Ids.Select(Gen.Const)]), Gen.Int[0, 9], Gen.Char['a', 'z'], Gen.Int[0, 2])
            .Sample((id, at, letter, how) =>
            NearNames.Of(how switch
            {
                0 => id.Remove(at, 1),
                1 => id.Insert(at, $"{letter}"),
                _ => id.Remove(at, 1).Insert(at, $"{letter}")
            }, Ids).Contains(id));

    [Fact]
    public void Only_candidates_are_suggested_each_once() =>
        Gen.Select(Gen.String, Gen.OneOf([.. Ids.Select(Gen.Const)]).HashSet[0, 4]).Sample((written, ids) =>
        {
            var near = NearNames.Of(written, ids);
            Assert.Equal(near.Distinct(), near);
            Assert.All(near, name => Assert.Contains(name, ids));
        });
}
