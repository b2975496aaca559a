using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Households;

public class KeyTests
{
    private static readonly string Hash = new('a', 64);

    private static KeyIssued Issued(string name, Role role, params MovementKind[] movements) =>
        new(name, role, [.. movements], Hash);

    private static IssueKey Issue(string name, Role role, params MovementKind[] movements) =>
        new(name, role, [.. movements], Hash);

    [Theory]
    [InlineData(Role.Keeper)]
    [InlineData(Role.Member)]
    [InlineData(Role.Viewer)]
    public void A_key_is_issued_under_a_name(Role role) =>
    Given().When(Issue(" partner ", role)).Then(Issued("partner", role));

    [Fact]
    public void A_scripts_key_lists_its_movements_each_once_and_in_order() =>
        Given().When(Issue("payday", Role.Script, MovementKind.Sweep, MovementKind.Fill, MovementKind.Sweep))
            .Then(Issued("payday", Role.Script, MovementKind.Fill, MovementKind.Sweep));

    [Fact]
    public void A_script_needs_movements()
    {
        Given().When(Issue("payday", Role.Script)).ThenRefused("movements-missing", "movements");
        Given().When(new IssueKey("payday", Role.Script, default, Hash)).ThenRefused("movements-missing", "movements");
    }

    [Theory]
    [InlineData(Role.Keeper)]
    [InlineData(Role.Member)]
    [InlineData(Role.Viewer)]
    public void Other_roles_list_none(Role role)
    {
        Given().When(Issue("partner", role, MovementKind.Fill)).ThenRefused("movements-not-for-role", "movements");
        Given().When(new IssueKey("partner", role, default, Hash)).Then(Issued("partner", role));
    }

    [Fact]
    public void A_name_is_used_once_even_after_its_key_was_revoked()
    {
        Given(Issued("partner", Role.Member)).When(Issue("partner", Role.Viewer)).ThenRefused("key-name-taken", "name");
        Given(Issued("partner", Role.Member), new KeyRevoked("partner")).When(Issue(" partner", Role.Viewer))
            .ThenRefused("key-name-taken", "name");
    }

    [Fact]
    public void A_name_is_needed() => Given().When(Issue(" ", Role.Member)).ThenRefused("words-missing", "name");

    [Fact]
    public void A_key_is_revoked_once()
    {
        var revoked = Given(Issued("partner", Role.Member)).When(new RevokeKey("partner"))
            .Then(new KeyRevoked("partner"));

        Assert.True(revoked.Book.Keys["partner"].Revoked);
        revoked.When(new RevokeKey("partner")).ThenNothing();
    }

    [Fact]
    public void A_key_that_was_never_issued_is_not_found() =>
        Assert.Equal(RefusalSort.NotFound, Given().When(new RevokeKey("partner")).ThenRefused("key-unknown").Sort);

    [Fact]
    public void The_last_keepers_key_stays() =>
        Given(Issued("keeper", Role.Keeper), Issued("partner", Role.Member)).When(new RevokeKey("keeper"))
            .ThenRefused("last-keeper");

    [Fact]
    public void A_revoked_keeper_does_not_count()
    {
        var two = Given(Issued("keeper", Role.Keeper), Issued("second keeper", Role.Keeper));
        var one = two.When(new RevokeKey("keeper")).Then(new KeyRevoked("keeper"));

        one.When(new RevokeKey("second keeper")).ThenRefused("last-keeper");
        one.When(new RevokeKey("keeper")).ThenNothing();
    }

    [Fact]
    public void A_key_expires_at_the_end_of_a_day_of_the_household_or_at_an_instant()
    {
        var noon = new DateTimeOffset(Today, new TimeOnly(12, 0), TimeSpan.Zero);

        Given().When(Issue("lodger", Role.Viewer) with { LastDay = Today, AskedAt = noon })
            .Then(Issued("lodger", Role.Viewer) with
            {
                Expires =
                Given().Book.Household!.InstantOf(Today.AddDays(1), TimeOnly.MinValue)
            });
        Given().When(Issue("lodger", Role.Viewer) with { Expires = noon.AddMinutes(1), AskedAt = noon })
            .Then(Issued("lodger", Role.Viewer) with { Expires = noon.AddMinutes(1) });
        Given().When(Issue("lodger", Role.Viewer) with { Expires = noon, AskedAt = noon })
            .ThenRefused("expires-in-past", "expires");
        Given().When(Issue("lodger", Role.Viewer) with { LastDay = Today.AddDays(-1), AskedAt = noon })
            .ThenRefused("expires-in-past", "expires");
    }

    [Fact]
    public void The_last_keeper_is_one_whose_key_does_not_expire()
    {
        var two = Given(Issued("keeper", Role.Keeper),
            Issued("guest keeper", Role.Keeper) with { Expires = DateTimeOffset.MaxValue });

        two.When(new RevokeKey("keeper")).ThenRefused("last-keeper");
        two.When(new RevokeKey("guest keeper")).Then(new KeyRevoked("guest keeper"));
    }

    [Fact]
    public void A_lost_keepers_key_is_revoked_when_another_is_issued_in_its_stead()
    {
        var one = Given(Issued("keeper", Role.Keeper), Issued("partner", Role.Member));
        var next = one.When(new ReplaceKeeperKey(null, Hash))
            .Then(Issued("keeper-2", Role.Keeper), new KeyRevoked("keeper"));
        next.When(new ReplaceKeeperKey("keeper-2", Hash))
            .Then(Issued("keeper-3", Role.Keeper), new KeyRevoked("keeper-2"));

        var two = Given(Issued("keeper", Role.Keeper), Issued("Keeper 2", Role.Keeper));
        Assert.Contains("'keeper', 'Keeper 2'",
            two.When(new ReplaceKeeperKey(null, Hash)).ThenRefused("which-key", "lost").Detail);
        two.When(new ReplaceKeeperKey("partner", Hash)).ThenRefused("key-unknown", "lost");
        two.When(new ReplaceKeeperKey("Keeper 2", Hash))
            .Then(Issued("keeper-3", Role.Keeper), new KeyRevoked("Keeper 2"));
    }

    public static TheoryData<Role, MovementKind, bool> WhoMayWriteWhat()
    {
        var data = new TheoryData<Role, MovementKind, bool>();
        foreach (var kind in Enum.GetValues<MovementKind>())
        {
            data.Add(Role.Keeper, kind, true);
            data.Add(Role.Member, kind, true);
            data.Add(Role.Script, kind, kind is MovementKind.Fill or MovementKind.Count);
            data.Add(Role.Viewer, kind, false);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(WhoMayWriteWhat))]
    public void A_role_may_write_its_kinds_of_movement(Role role, MovementKind kind, bool may) =>
        Assert.Equal(may, new Key("any", role, [MovementKind.Fill, MovementKind.Count], Hash, 1).MayWrite(kind));
}
