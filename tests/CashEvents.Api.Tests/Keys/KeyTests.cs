using CashEvents.Api.Tests.PostgreSql;
using CashEvents.Api.Tests.Serving;
using Xunit;

namespace CashEvents.Api.Tests.Keys;

public sealed class KeyTests(SharedServer shared)
{
    [Fact]
    public async Task A_key_is_shown_once_and_kept_nowhere()
    {
        var household = await shared.HarbourRowAsync();

        var issued = (await household.Keeper.PostAsync("/api/keys", """{"name": "payday script", "role": "script", "movements": ["sweep", "fill", "fill"]}""")).MustBe(201);

        var key = issued.Json.GetProperty("key").GetString()!;
        issued.MustSay($$"""{"name": "payday script", "role": "script", "movements": ["fill", "sweep"], "key": "{{key}}", "lines": [11], "entryId": 11}""");
        Assert.Matches("^ce_[A-Za-z0-9_-]{43}$", key);
        Assert.Equal("/api/keys/payday%20script", issued.Headers["Location"]);
        (await household.Keeper.GetAsync("/api/keys")).MustBe(200).MustSay("""
            {"keys": [{"name": "keeper", "role": "keeper", "revoked": false}, {"name": "payday script", "role": "script", "movements": ["fill", "sweep"], "revoked": false}]}
            """);
        Assert.DoesNotContain(key, (await household.Keeper.GetAsync("/api/lines?limit=1000")).Text);
        foreach (var table in new[] { "mt_events", "mt_doc_bookpage", "key", "answer" })
        {
            Assert.Equal("0", await Database.AskAsync(household.Server.Database, $"select count(*) from cashevents.{table} t where t::text like '%{key}%'"));
        }
    }

    [Fact]
    public async Task A_revoked_key_is_refused_at_once_and_its_lines_keep_its_name()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        (await partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")).MustBe(201);

        var revoked = (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        Assert.Equal("\"13\"", revoked.ETag);
        (await partner.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        (await household.WithoutWritingAsync(_ => partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}"""))).MustBeProblem(401, "key-unknown");
        Assert.Single(await household.LinesAsync("by=partner"));
        Assert.True((await household.Keeper.GetAsync("/api/keys")).Json.GetProperty("keys")[1].GetProperty("revoked").GetBoolean());
    }

    [Fact]
    public async Task A_key_revoked_while_it_is_used_for_the_first_time_is_refused_afterwards()
    {
        var household = await shared.HarbourRowAsync();
        for (var i = 0; i < 40; i++)
        {
            var partner = await household.IssueAsync($"partner {i}", "member");

            await Task.WhenAll([household.Keeper.DeleteAsync($"/api/keys/partner%20{i}"), .. Enumerable.Range(0, 4).Select(_ => partner.GetAsync("/api/household"))]);

            (await partner.GetAsync("/api/household")).MustBeProblem(401, "key-unknown");
        }
    }

    [Fact]
    public async Task Revoking_twice_is_no_mistake_and_writes_once()
    {
        var household = await shared.HarbourRowAsync();
        await household.IssueAsync("partner", "member");
        (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/keys/partner"))).MustBe(204);
    }

    [Fact]
    public async Task The_last_keepers_key_stays_until_there_is_another()
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/keys/keeper"))).MustBeProblem(409, "last-keeper");

        var second = await household.IssueAsync("second keeper", "keeper");
        (await household.Keeper.DeleteAsync("/api/keys/keeper")).MustBe(204);
        (await household.Keeper.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        (await second.DeleteAsync("/api/keys/second%20keeper")).MustBeProblem(409, "last-keeper");
    }

    [Theory]
    [InlineData("phone / tablet")]
    [InlineData("50%2F50")]
    [InlineData("what? #1")]
    [InlineData("+1 & more")]
    [InlineData("Fähre")]
    [InlineData("한국")]
    public async Task A_key_of_any_name_can_be_revoked_where_its_location_says(string name)
    {
        var household = await shared.HarbourRowAsync();
        var issued = (await household.Keeper.PostAsync("/api/keys", $$"""{"name": "{{name}}", "role": "viewer"}""")).MustBe(201);

        (await household.Keeper.DeleteAsync(issued.Headers["Location"])).MustBe(204);

        var key = (await household.Keeper.GetAsync("/api/keys")).Json.GetProperty("keys")[1];
        Assert.Equal((name, true), (key.GetProperty("name").GetString(), key.GetProperty("revoked").GetBoolean()));
    }

    [Theory]
    [InlineData(409, "key-name-taken", "name", """{"name": "keeper", "role": "viewer"}""")]
    [InlineData(422, "words-unprintable", "name", """{"name": "a\u0000b", "role": "viewer"}""")]
    [InlineData(422, "movements-missing", "movements", """{"name": "script", "role": "script"}""")]
    [InlineData(422, "movements-missing", "movements", """{"name": "script", "role": "script", "movements": []}""")]
    [InlineData(422, "movements-not-for-role", "movements", """{"name": "partner", "role": "member", "movements": ["fill"]}""")]
    [InlineData(400, "malformed", "movements[0]", """{"name": "script", "role": "script", "movements": ["theft"]}""")]
    [InlineData(400, "malformed", "role", """{"name": "partner", "role": "owner"}""")]
    [InlineData(400, "malformed", "role", """{"name": "partner"}""")]
    [InlineData(400, "malformed", "name", """{"role": "viewer"}""")]
    public async Task A_key_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/keys", body))).MustBlame(status, code, field);
    }

    [Theory]
    [InlineData("lighthouse")]
    [InlineData("a%EF%BF%BEb")]
    public async Task A_key_that_was_never_issued_is_not_found(string name)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync($"/api/keys/{name}"))).MustBeProblem(404, "key-unknown");
    }

    [Theory]
    [InlineData(null, "key-missing")]
    [InlineData("Bearer", "key-missing")]
    [InlineData("Bearer ", "key-missing")]
    [InlineData("Basic a2VlcGVyOmtlZXBlcg==", "key-missing")]
    [InlineData("Bearer ce_not-a-key", "key-unknown")]
    public async Task Without_a_key_nothing_is_told_and_nothing_written(string? authorization, string code)
    {
        var household = await shared.HarbourRowAsync();
        var stranger = household.Server.Client(null);
        (string, string)[] headers = authorization is null ? [] : [("Authorization", authorization)];

        foreach (var address in new[] { "/api/balances", "/API/Balances", "/api", "/api/nowhere" })
        {
            var refused = await stranger.GetAsync(address, headers);

            refused.MustBeProblem(401, code);
            Assert.StartsWith("Bearer", refused.Headers["WWW-Authenticate"]);
        }

        (await household.WithoutWritingAsync(_ => stranger.PostAsync("/api/wallets", """{"label": "Sea chest"}""", headers))).MustBeProblem(401, code);
    }

    [Fact]
    public async Task The_scheme_is_read_in_any_case()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Server.Client(null).GetAsync("/api/balances", ("Authorization", $"bearer {household.Keeper.Key}"))).MustBe(200);
    }
}
