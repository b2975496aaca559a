using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Households;

/// <summary>Which key may write which entry.</summary>
public class RightsTests
{
    private const string ReadsOnly = "The key 'kin' has the role viewer, which may read only.";

    private static readonly IBookEvent _label = new CompartmentRelabelled(Ferry, "Boats");

    private static Key A(Role role, params MovementKind[] movements) => new("kin", role, [.. movements], "hash", 1);

    private static string? Refused(Action asked)
    {
        try
        {
            asked();
            return null;
        }
        catch (RefusalException refused)
        {
            Assert.Equal((RefusalSort.NotAllowed, "not-allowed"), (refused.Refusal.Sort, refused.Refusal.Code));
            return refused.Refusal.Detail;
        }
    }

    private static string? Refused(Key key, params IBookEvent[] entry) => Refused(() => key.MustBeAllowed(entry));

    [Fact]
    public void A_keeper_writes_all_and_a_member_all_movements()
    {
        Assert.Null(Refused(A(Role.Keeper), _label, Fill(Ferry, 1m)));
        Assert.Null(Refused(A(Role.Member), Fill(Ferry, 1m), Count(Ferry, 1m, 1m)));
        Assert.Equal("The key 'kin' has the role member, and this needs a keeper's key.",
            Refused(A(Role.Member), Fill(Ferry, 1m), _label));
    }

    [Fact]
    public void A_script_writes_what_its_key_lists_and_each_line_of_an_entry_is_looked_at()
    {
        var payday = A(Role.Script, MovementKind.Fill, MovementKind.Count);

        Assert.Null(Refused(payday, Fill(Ferry, 1m), Count(Ferry, 1m, 1m)));
        Assert.Equal("The key 'kin' may write fill, count, not spend: ask a keeper for a key that lists it.",
            Refused(payday, Fill(Ferry, 1m), Spend(Ferry, 1m)));
        Assert.Equal("The key 'kin' has the role script, and this needs a keeper's key.", Refused(payday, _label));
    }

    [Fact]
    public void A_viewer_writes_nothing()
    {
        Assert.Equal(ReadsOnly, Refused(A(Role.Viewer), Fill(Ferry, 1m)));
        Assert.Equal(ReadsOnly, Refused(() => A(Role.Viewer).MustWrite()));
        Assert.Null(Refused(() => A(Role.Member).MustWrite()));
        Assert.Null(Refused(() => A(Role.Script).MustWrite()));
    }

    [Fact]
    public void Only_a_keeper_keeps()
    {
        Assert.Null(Refused(() => A(Role.Keeper).MustKeep()));
        Assert.Equal("The key 'kin' has the role viewer, and this needs a keeper's key.",
            Refused(() => A(Role.Viewer).MustKeep()));
    }

    // A reversal undoes a line of any kind; an amendment needs the kind too, on both of its lines.
    [Fact]
    public void To_undo_needs_reversals_and_to_amend_needs_amendments_and_the_kind()
    {
        var undone = Reversed(9, Spend(Ferry, 5m));
        var right = Fill(Ferry, 4m).InSteadOf(new Correction(9));

        Assert.Null(Refused(A(Role.Script, MovementKind.Reversal), undone));
        Assert.NotNull(Refused(A(Role.Script, MovementKind.Amendment, MovementKind.Spend), undone));
        Assert.Null(Refused(A(Role.Script, MovementKind.Amendment, MovementKind.Spend, MovementKind.Fill),
            undone, right));
        Assert.NotNull(Refused(A(Role.Script, MovementKind.Reversal, MovementKind.Fill), undone, right));
        Assert.NotNull(Refused(A(Role.Script, MovementKind.Amendment, MovementKind.Fill), undone, right));
        Assert.NotNull(Refused(A(Role.Script, MovementKind.Amendment, MovementKind.Spend), undone, right));
        Assert.NotNull(Refused(A(Role.Script, MovementKind.Spend, MovementKind.Fill), undone, right));
    }

    // What stands in the stead of another line does not make an amendment of a reversal beside it.
    [Fact]
    public void A_reversal_beside_the_amendment_of_another_line_stays_a_reversal() =>
        Assert.Null(Refused(A(Role.Script, MovementKind.Reversal, MovementKind.Amendment, MovementKind.Fill),
            Reversed(9, Spend(Ferry, 5m)), Fill(Ferry, 4m).InSteadOf(new Correction(8))));

    [Fact]
    public void A_key_opens_by_its_hash_until_it_is_revoked()
    {
        Assert.True(A(Role.Viewer).Opens("hash"));
        Assert.False(A(Role.Viewer).Opens("other"));
        Assert.False((A(Role.Viewer) with { Revoked = true }).Opens("hash"));
    }

    [Fact]
    public void A_key_is_over_from_the_instant_it_expires_or_once_it_is_revoked()
    {
        var ends = new DateTimeOffset(2026, 9, 24, 21, 30, 0, TimeSpan.Zero);
        var lodger = A(Role.Viewer) with { Expires = ends };

        Assert.Null(A(Role.Viewer).OverAt(ends));
        Assert.Null(lodger.OverAt(ends.AddSeconds(-1)));
        Assert.Equal(
            new Refusal(RefusalSort.Stranger, "key-expired",
                "The key 'kin' expired at 2026-09-24 21:30 UTC: ask the keeper for another."),
            lodger.OverAt(ends) is { } over ? over with { Suggestions = [] } : null);
        Assert.Equal("This key is not known here, or was revoked: ask the keeper for another.",
            (lodger with { Revoked = true }).OverAt(ends.AddDays(-1))!.Detail);
        Assert.Equal(("key-unknown", RefusalSort.Stranger), (Refusal.Stranger.Code, Refusal.Stranger.Sort));
    }
}
