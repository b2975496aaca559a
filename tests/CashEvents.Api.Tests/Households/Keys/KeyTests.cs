using Xunit;

namespace CashEvents.Api.Tests.Households;

public sealed class KeyTests(SharedServer shared)
{
    [Fact]
    public async Task A_key_is_shown_once_and_kept_nowhere()
    {
        var household = await shared.HarbourRowAsync();

        var issued = (await household.Keeper.PostAsync("/api/keys",
            """{"name": "payday script", "role": "script", "movements": ["sweep", "fill", "fill"]}""")).MustBe(201);

        var key = issued.Json.GetProperty("key").GetString()!;
        issued.MustSay(
            $$"""{"name": "payday script", "role": "script", "movements": ["fill", "sweep"], "key": "{{key}}", "lines": [11], "entryId": 11}""");
        Assert.Matches("^ce_[A-Za-z0-9_-]{43}$", key);
        Assert.Equal("/api/keys/payday%20script", issued.Headers["Location"]);
        (await household.Keeper.GetAsync("/api/keys")).MustBe(200).MustHave("""
            {"keys": [{"name": "keeper", "role": "keeper", "revoked": false, "lastUsed": "2026-11-15T12:00:00+00:00"}, {"name": "payday script", "role": "script", "movements": ["fill", "sweep"], "revoked": false}]}
            """);
        Assert.DoesNotContain(key, (await household.Keeper.GetAsync("/api/lines?limit=1000")).Text);
        foreach (var table in new[] { "mt_events", "mt_doc_bookpage", "key", "answer" })
        {
            Assert.Equal("0", await Database.AskAsync(household.Server.Database,
                $"select count(*) from cashevents.{table} t where t::text like '%{key}%'"));
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
        (await household.WithoutWritingAsync(
            _ => partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")))
            .MustBeProblem(401, "key-unknown");
        Assert.Single(await household.LinesAsync("by=partner"));
        Assert.True((await household.Keeper.GetAsync("/api/keys")).Json.GetProperty("keys")[1].GetProperty("revoked")
            .GetBoolean());
    }

    [Fact]
    public async Task A_key_revoked_while_it_is_used_for_the_first_time_is_refused_afterwards()
    {
        var household = await shared.HarbourRowAsync();
        for (var i = 0; i < 40; i++)
        {
            var partner = await household.IssueAsync($"partner {i}", "member");

            await Task.WhenAll([household.Keeper.DeleteAsync($"/api/keys/partner%20{i}"),
                .. Enumerable.Range(0, 4).Select(_ => partner.GetAsync("/api/household"))]);

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

        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/keys/keeper")))
            .MustBeProblem(409, "last-keeper");

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
    public async Task A_key_of_any_name_can_be_revoked_where_its_location_says(string name)
    {
        var household = await shared.HarbourRowAsync();
        var issued = (await household.Keeper.PostAsync("/api/keys", $$"""{"name": "{{name}}", "role": "viewer"}"""))
            .MustBe(201);

        (await household.Keeper.DeleteAsync(issued.Headers["Location"])).MustBe(204);

        await MustBeRevokedAsync(household, name);
    }

    [Theory]
    [InlineData(".")]
    [InlineData("..")]
    [InlineData("Fähre")]
    [InlineData("한국")]
    [InlineData("kеeper")]
    [InlineData("keeper\u200B")]
    [InlineData("KEEPER")]
    [InlineData("a/../b")]
    public async Task A_key_that_an_older_program_issued_works_and_is_revoked_by_its_name(string name)
    {
        var household = await shared.HarbourRowAsync();
        await IssuedBeforeAsync(household, name, "an-old-key-of-" + household.Id);
        var key = household.Server.Client("an-old-key-of-" + household.Id);
        (await key.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")).MustBe(201);

        (await household.Keeper.DeleteAsync($"/api/keys?name={Uri.EscapeDataString(name)}")).MustBe(204);

        await MustBeRevokedAsync(household, name);
        (await key.GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        Assert.True((await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("agrees")
            .GetBoolean());
    }

    [Theory]
    [InlineData("", 400, "malformed")]
    [InlineData("?name=", 400, "malformed")]
    [InlineData("?name=keeper&name=partner", 400, "malformed")]
    [InlineData("?name=nobody", 404, "key-unknown")]
    [InlineData("?name=keeper", 409, "last-keeper")]
    public async Task To_name_no_key_revokes_none(string query, int status, string code)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync("/api/keys" + query)))
            .MustBeProblem(status, code);
    }

    [ThoroughFact]
    public async Task The_last_use_of_a_key_is_told_to_the_minute_and_is_no_line()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var partner = await household.IssueAsync("partner", "member");
        var line = await household.LineAsync();
        Assert.Null(await LastUseAsync(household, "partner"));

        foreach (var (later, told) in new[] { (0, "12:00:00"), (30, "12:00:00"), (31, "12:01:01"), (3600, "13:01:01") })
        {
            server.Clock.Advance(TimeSpan.FromSeconds(later));
            (await partner.GetAsync("/api/balances")).MustBe(200);
            Assert.Equal($"2026-11-15T{told}+00:00", await LastUseAsync(household, "partner"));
        }

        Assert.Equal(line, await household.LineAsync());
        await using var second = await RunningServer.StartAsync(server.Database);
        (await household.At(second).Keeper.GetAsync("/api/balances")).MustBe(200);
        Assert.Equal("2026-11-15T13:01:01+00:00", await LastUseAsync(household.At(second), "partner"));
    }

    [Theory]
    [InlineData("2026-11-15", "2026-11-16T00:00:00+00:00")]
    [InlineData("2027-07-01", "2027-07-01T23:00:00+00:00")]
    [InlineData("2026-11-15T18:30:00Z", "2026-11-15T18:30:00+00:00")]
    [InlineData("2026-11-15T19:30:00+01:00", "2026-11-15T18:30:00+00:00")]
    public async Task A_key_is_accepted_until_it_expires_and_then_refused_with_words(string expires, string instant)
    {
        await using var server = await RunningServer.StartAsync();
        var household = await Household.OpenAsync(server);
        var issued = (await household.Keeper.PostAsync("/api/keys",
            $$"""{"name": "lodger", "role": "member", "expires": "{{expires}}"}""")).MustBe(201).Json;
        var lodger = server.Client(issued.GetProperty("key").GetString());
        Assert.Equal(instant, issued.GetProperty("expires").GetString());
        Assert.Equal(instant, (await household.Keeper.GetAsync("/api/keys")).Json.GetProperty("keys")[1]
            .GetProperty("expires").GetString());
        Assert.Equal(instant, (await household.Keeper.GetAsync("/api/lines/11")).Json.GetProperty("expires")
            .GetString());

        server.Clock.SetUtcNow(DateTimeOffset.Parse(instant).AddTicks(-1));
        (await lodger.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")).MustBe(201);
        server.Clock.SetUtcNow(DateTimeOffset.Parse(instant));
        Assert.Contains("expired at",
            (await lodger.GetAsync("/api/balances")).MustBeProblem(401, "key-expired").GetProperty("detail")
                .GetString());
        (await household.WithoutWritingAsync(
            _ => lodger.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")))
            .MustBeProblem(401, "key-expired");

        var rebuilt = await household.Keeper.PostAsync("/api/rebuilds", "{}");
        Assert.True(rebuilt.Status is 200 or 201 or 202, rebuilt.Text);
    }

    [Fact]
    public async Task What_another_server_revoked_writes_nothing_more_here_either()
    {
        await using var server = await RunningServer.StartAsync();
        await using var second = await RunningServer.StartAsync(server.Database);
        var household = await Household.OpenAsync(server);
        var there = household.At(second);
        var issued = await household.IssueAsync("partner", "member");
        var partner = second.Client(issued.Key);
        (await partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")).MustBe(201);

        (await household.Keeper.DeleteAsync("/api/keys/partner")).MustBe(204);

        // The second server may still know the book as it was before.
        (await there.WithoutWritingAsync(
            _ => partner.PostAsync("/api/fills", """{"compartment": "ferry-fares", "amount": 1.00}""")))
            .MustBeProblem(401, "key-unknown");
        // It hears of it within moments, though its clock stands still.
        for (; (await partner.GetAsync("/api/balances")).Status == 200;
            await Task.Delay(20, TestContext.Current.CancellationToken))
        {
        }
    }

    private static async Task MustBeRevokedAsync(Household household, string name)
    {
        var key = (await household.Keeper.GetAsync("/api/keys")).Json.GetProperty("keys")[1];
        Assert.Equal((name, true), (key.GetProperty("name").GetString(), key.GetProperty("revoked").GetBoolean()));
    }

    private static async Task<string?> LastUseAsync(Household household, string name) =>
        (await household.Keeper.GetAsync("/api/keys")).MustBe(200).Json.GetProperty("keys").EnumerateArray()
            .Single(k => k.GetProperty("name").GetString() == name)
            .TryGetProperty("lastUsed", out var used) ? used.GetString() : null;

    private static async Task IssuedBeforeAsync(Household household, string name, string key)
    {
        var written = await household.Server.Writer.WriteAsync(
            new WriteRequest(household.Id, "keeper",
                [new EntryRequest(new Issued(new KeyIssued(name, Role.Member, [], KeyRing.Hash(key))))]));
        Assert.Null(written.Outcomes.Single().Refusal);
    }

    private sealed record Issued(KeyIssued Line) : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => [Line];
    }

    [Theory]
    [InlineData(409, "key-name-taken", "name", """{"name": "keeper", "role": "viewer"}""")]
    [InlineData(409, "key-name-taken", "name", """{"name": "Keeper", "role": "viewer"}""")]
    [InlineData(409, "key-name-taken", "name", """{"name": "KEEPER!", "role": "viewer"}""")]
    [InlineData(422, "key-name-not-ascii", "name", """{"name": "kеeper", "role": "viewer"}""")]
    [InlineData(422, "key-name-not-ascii", "name", """{"name": "keeper\u200B", "role": "viewer"}""")]
    [InlineData(422, "key-name-not-ascii", "name", """{"name": "kee\u00ADper", "role": "viewer"}""")]
    [InlineData(422, "key-name-not-ascii", "name", """{"name": "Fähre", "role": "viewer"}""")]
    [InlineData(422, "key-name-without-letters", "name", """{"name": ".", "role": "viewer"}""")]
    [InlineData(422, "key-name-without-letters", "name", """{"name": "..", "role": "viewer"}""")]
    [InlineData(422, "key-name-without-letters", "name", """{"name": "./..", "role": "viewer"}""")]
    [InlineData(422, "key-name-reserved", "name", """{"name": "Setup", "role": "viewer"}""")]
    [InlineData(422, "key-name-reserved", "name", """{"name": "machine", "role": "viewer"}""")]
    [InlineData(422, "key-name-reserved", "name", """{"name": "automatic-fill runs", "role": "viewer"}""")]
    [InlineData(422, "expires-in-past", "expires", """{"name": "lodger", "role": "viewer", "expires": "2026-11-14"}""")]
    [InlineData(422, "expires-in-past", "expires",
        """{"name": "lodger", "role": "viewer", "expires": "2026-11-15T12:00:00Z"}""")]
    [InlineData(422, "expires-too-late", "expires",
        """{"name": "lodger", "role": "viewer", "expires": "9999-12-31"}""")]
    [InlineData(400, "malformed", "expires", """{"name": "lodger", "role": "viewer", "expires": "tomorrow"}""")]
    [InlineData(400, "malformed", "expires", """{"name": "lodger", "role": "viewer", "expires": "2026-11-31"}""")]
    [InlineData(400, "malformed", "expires",
        """{"name": "lodger", "role": "viewer", "expires": "2026-11-15T25:00:00Z"}""")]
    [InlineData(422, "words-unprintable", "name", """{"name": "a\u0000b", "role": "viewer"}""")]
    [InlineData(422, "movements-missing", "movements", """{"name": "script", "role": "script"}""")]
    [InlineData(422, "movements-missing", "movements", """{"name": "script", "role": "script", "movements": []}""")]
    [InlineData(422, "movements-not-for-role", "movements",
        """{"name": "partner", "role": "member", "movements": ["fill"]}""")]
    [InlineData(400, "malformed", "movements[0]", """{"name": "script", "role": "script", "movements": ["theft"]}""")]
    [InlineData(400, "malformed", "role", """{"name": "partner", "role": "owner"}""")]
    [InlineData(400, "malformed", "role", """{"name": "partner"}""")]
    [InlineData(400, "malformed", "name", """{"role": "viewer"}""")]
    public async Task A_key_that_does_not_fit_is_refused(int status, string code, string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/keys", body)))
            .MustBlame(status, code, field);
    }

    [Theory]
    [InlineData("lighthouse")]
    [InlineData("a%EF%BF%BEb")]
    public async Task A_key_that_was_never_issued_is_not_found(string name)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.DeleteAsync($"/api/keys/{name}")))
            .MustBeProblem(404, "key-unknown");
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

        (await household.WithoutWritingAsync(
            _ => stranger.PostAsync("/api/wallets", """{"label": "Sea chest"}""", headers))).MustBeProblem(401, code);
    }

    [Fact]
    public async Task The_scheme_is_read_in_any_case()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Server.Client(null)
            .GetAsync("/api/balances", ("Authorization", $"bearer {household.Keeper.Key}"))).MustBe(200);
    }
}
