using Xunit;

namespace CashEvents.Api.Tests.Households;

/// <summary>Browsers that sign in: what they keep stands for a key, and for this server's own page alone.</summary>
public sealed class SessionTests(SharedServer shared)
{
    private static readonly (string, string) _ownPage = ("Sec-Fetch-Site", "same-origin");

    [Fact]
    public async Task A_browser_keeps_a_cookie_that_no_script_reads_and_that_stands_for_the_key()
    {
        var household = await shared.HarbourRowAsync();
        var (cookie, header) = await SignInAsync(household, household.Keeper.Key!);

        Assert.Contains("; httponly", header, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("; samesite=strict", header, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain(household.Keeper.Key!, header);

        var browser = household.Server.Client(null);
        (await browser.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 5.00}""", cookie, _ownPage))
            .MustBe(201);
        (await browser.GetAsync("/api/print/compartments/ferry-fares/tracker", cookie)).MustBe(200);
        Assert.Equal("keeper", (await household.LinesAsync())[^1].GetProperty("by").GetString());
    }

    [Fact]
    public async Task What_a_browser_keeps_opens_no_more_than_its_key_and_only_until_that_is_revoked()
    {
        var household = await shared.HarbourRowAsync();
        var viewer = await household.IssueAsync("window", "viewer");
        var (cookie, _) = await SignInAsync(household, viewer.Key!);
        var browser = household.Server.Client(null);

        (await browser.GetAsync("/api/balances", cookie)).MustBe(200);
        (await browser.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 5.00}""", cookie, _ownPage))
            .MustBeProblem(403, "not-allowed");

        (await household.Keeper.DeleteAsync("/api/keys/window")).MustBe(204);
        var after = await browser.GetAsync("/api/balances", cookie);
        after.MustBeProblem(401, "signed-out");
        Assert.Contains("expires=Thu, 01 Jan 1970", after.Headers["Set-Cookie"], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Sec-Fetch-Site", "cross-site")]
    [InlineData("Sec-Fetch-Site", "same-site")]
    [InlineData("Sec-Fetch-Site", "none")]
    [InlineData("Origin", "http://127.0.0.1:1")]
    [InlineData("Origin", "null")]
    [InlineData("X-Nothing", "no header of a browser")]
    public async Task Another_page_writes_nothing_with_what_a_browser_keeps(string name, string value)
    {
        var household = await shared.HarbourRowAsync();
        var (cookie, _) = await SignInAsync(household, household.Keeper.Key!);
        var browser = household.Server.Client(null);

        (await household.WithoutWritingAsync(_ => browser.PostAsync("/api/fills",
            """{"compartment": "ferry-fares", "amount": 5.00}""", cookie, (name, value))))
            .MustBeProblem(403, "other-page");
    }

    [Fact]
    public async Task A_print_opens_by_an_address_that_somebody_kept_and_not_from_another_page()
    {
        var household = await shared.HarbourRowAsync();
        var (cookie, _) = await SignInAsync(household, household.Keeper.Key!);
        var browser = household.Server.Client(null);

        (await browser.GetAsync("/api/print/wallets", cookie, ("Sec-Fetch-Site", "none"))).MustBe(200);
        (await browser.GetAsync("/api/print/wallets", cookie, ("Sec-Fetch-Site", "cross-site")))
            .MustBeProblem(403, "other-page");
    }

    [Fact]
    public async Task Who_signs_out_is_out()
    {
        var household = await shared.HarbourRowAsync();
        var (cookie, _) = await SignInAsync(household, household.Keeper.Key!);
        var browser = household.Server.Client(null);

        (await browser.DeleteAsync("/api/sessions", cookie, _ownPage)).MustBe(204);

        (await browser.GetAsync("/api/balances", cookie)).MustBeProblem(401, "signed-out");
        (await household.Keeper.GetAsync("/api/balances")).MustBe(200);
    }

    [Fact]
    public async Task A_wrong_key_signs_nobody_in()
    {
        var household = await shared.HarbourRowAsync();

        var reply = await household.Server.Client(null).PostAsync("/api/sessions", """{"key": "ce_nobodys"}""");

        reply.MustBeProblem(401, "key-unknown");
        Assert.DoesNotContain("Set-Cookie", reply.Headers.Keys);
    }

    [Fact]
    public async Task A_phone_is_paired_once_within_five_minutes_and_its_key_stands_among_the_others()
    {
        var household = await shared.HarbourRowAsync();
        var paired = (await household.Keeper.PostAsync("/api/pairings",
            """{"name": "partner's phone", "role": "member"}""")).MustBe(200).Json;
        var code = paired.GetProperty("address").GetString()!.Split('#')[1];
        Assert.StartsWith("<svg", paired.GetProperty("picture").GetString());

        var phone = household.Server.Client(null);
        var signedIn = (await phone.PostAsync("/api/sessions", $$"""{"code": "{{code}}"}""")).MustBe(200)
            .MustSay("""{"name": "partner's phone", "role": "member"}""");
        (await phone.PostAsync("/api/sessions", $$"""{"code": "{{code}}"}""")).MustBeProblem(401, "code-used");

        var cookie = ("Cookie", signedIn.Headers["Set-Cookie"].Split(';')[0]);
        (await phone.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 5.00}""", cookie, _ownPage))
            .MustBe(201);
        var lines = await household.LinesAsync();
        Assert.Equal(("keyIssued", "keeper"),
            (lines[^2].GetProperty("kind").GetString()!, lines[^2].GetProperty("by").GetString()!));
        Assert.Equal("partner's phone", lines[^1].GetProperty("by").GetString());

        (await household.Keeper.DeleteAsync("/api/keys/partner's%20phone")).MustBe(204);
        (await phone.GetAsync("/api/balances", cookie)).MustBeProblem(401, "signed-out");
    }

    [Fact]
    public async Task A_code_is_good_for_five_minutes()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var code = (await household.Keeper.PostAsync("/api/pairings", """{"name": "phone", "role": "viewer"}"""))
            .MustBe(200).Json.GetProperty("address").GetString()!.Split('#')[1];

        server.Clock.Advance(TimeSpan.FromMinutes(5));

        (await server.Client(null).PostAsync("/api/sessions", $$"""{"code": "{{code}}"}"""))
            .MustBeProblem(401, "code-used");
    }

    [Fact]
    public async Task Only_a_keeper_pairs_and_under_a_name_that_can_be_had()
    {
        var household = await shared.HarbourRowAsync();
        var member = await household.IssueAsync("partner", "member");

        (await member.PostAsync("/api/pairings", """{"name": "phone", "role": "member"}"""))
            .MustBeProblem(403, "not-allowed");
        (await household.Keeper.PostAsync("/api/pairings", """{"name": "partner", "role": "member"}"""))
            .MustBeProblem(409, "key-name-taken");
        (await household.Keeper.PostAsync("/api/pairings", """{"name": "phone", "role": "script"}"""))
            .MustBeProblem(400, "malformed");
    }

    private static async Task<((string, string) Cookie, string Header)> SignInAsync(Household household, string key)
    {
        var reply = (await household.Server.Client(null).PostAsync("/api/sessions", $$"""{"key": "{{key}}"}"""))
            .MustBe(200);
        var header = reply.Headers["Set-Cookie"];
        return (("Cookie", header.Split(';')[0]), header);
    }
}
