using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Whoever runs the server opens households' books over HTTP, with a key that reads none of them.</summary>
public sealed class OpenedHouseholdTests
{
    private const string Key = "a-server-key-for-these-tests-only";

    [Fact]
    public async Task Books_are_opened_and_listed_and_each_keepers_key_opens_its_own()
    {
        await using var server = await StartAsync();
        var host = server.Client(Key);

        var first = (await host.PostAsync("/api/households", """{"name": "Lighthouse Lane"}""")).MustBe(201);
        (await host.PostAsync("/api/households", """{"name": "Quay House"}""")).MustBe(201);

        Assert.Equal("/api/households/lighthouse-lane", first.Headers["Location"]);
        (await host.GetAsync(first.Headers["Location"])).MustBe(200)
            .MustSay("""{"household": "lighthouse-lane", "name": "Lighthouse Lane", "line": 2}""");
        var keeper = server.Client(first.Json.GetProperty("key").GetString());
        Assert.Equal("Lighthouse Lane", (await keeper.GetAsync("/api/household")).MustBe(200).Json.GetProperty("name")
            .GetString());
        var page = (await host.GetAsync("/api/households?limit=1")).MustBe(200);
        page.MustHave("""
            {"households": [{"household": "lighthouse-lane", "name": "Lighthouse Lane", "line": 2}],
             "next": "/api/households?after=lighthouse-lane&limit=1"}
            """);
        (await host.GetAsync(page.Json.GetProperty("next").GetString()!)).MustBe(200)
            .MustHave("""{"households": [{"household": "quay-house", "name": "Quay House", "line": 2}]}""");
        (await host.GetAsync("/api/households/nowhere")).MustBeProblem(404, "household-unknown");
    }

    [Fact]
    public async Task Asked_again_while_the_book_is_empty_it_gives_another_key_and_then_no_more()
    {
        await using var server = await StartAsync();
        var host = server.Client(Key);
        var first = (await host.PostAsync("/api/households", """{"name": "Quay House"}""")).MustBe(201);

        var second = (await host.PostAsync("/api/households", """{"name": "Quay House"}""")).MustBe(201);
        var keeper = server.Client(second.Json.GetProperty("key").GetString());
        (await server.Client(first.Json.GetProperty("key").GetString()).GetAsync("/api/household"))
            .MustBeProblem(401, "key-unknown");
        (await keeper.PostAsync("/api/wallets", """{"label": "Tin"}""")).MustBe(201);

        Assert.True(second.Json.TryGetProperty("note", out _));
        (await host.PostAsync("/api/households", """{"name": "Quay-House"}""")).MustBlame(409, "household-taken", "name");
        (await keeper.GetAsync("/api/household")).MustBe(200);
    }

    [Theory]
    [InlineData("""{"name": "..."}""", 422, "label-without-letters")]
    [InlineData("""{"name": ""}""", 400, "malformed")]
    public async Task A_name_that_makes_no_id_opens_nothing(string body, int status, string code)
    {
        await using var server = await StartAsync();

        (await server.Client(Key).PostAsync("/api/households", body)).MustBlame(status, code, "name");
        Assert.Equal(0, (await server.Client(Key).GetAsync("/api/households")).MustBe(200).Json
            .GetProperty("households").GetArrayLength());
    }

    [Fact]
    public async Task The_servers_key_opens_no_book_and_a_keepers_no_list()
    {
        await using var server = await StartAsync();
        var keeper = (await Household.OpenAsync(server)).Keeper;

        (await server.Client(Key).GetAsync("/api/balances")).MustBeProblem(403, "not-allowed");
        (await server.Client(Key).PostAsync("/api/fills", "{}")).MustBeProblem(403, "not-allowed");
        (await keeper.GetAsync("/api/households")).MustBeProblem(403, "not-allowed");
        (await keeper.PostAsync("/api/households", """{"name": "Quay House"}""")).MustBeProblem(403, "not-allowed");
        (await server.Client("another-key-that-is-not-the-servers").GetAsync("/api/households"))
            .MustBeProblem(401, "key-unknown");
        (await server.Client(null).GetAsync("/api/households")).MustBeProblem(401, "key-missing");
    }

    [Fact]
    public async Task A_server_without_a_key_of_its_own_opens_none()
    {
        await using var server = await RunningServer.StartAsync();

        (await server.Client(Key).GetAsync("/api/households")).MustBeProblem(401, "key-unknown");
    }

    [Fact]
    public void It_is_made_once_and_kept_for_the_programs_own_user()
    {
        var folder = Directory.CreateTempSubdirectory("cashevents-server-key").FullName;
        ServerKey.TakeOrMake(null, folder);
        var file = Path.Combine(folder, "server.key");
        var kept = File.ReadAllText(file).Trim();

        Assert.True(ServerKey.TakeOrMake(null, folder).Is(kept));
        Assert.False(ServerKey.TakeOrMake(Key, folder).Is(kept));
        Assert.Equal(kept, File.ReadAllText(file).Trim());
        Assert.True(OperatingSystem.IsWindows()
            || File.GetUnixFileMode(file) == (UnixFileMode.UserRead | UnixFileMode.UserWrite));
        Assert.Throws<StartException>(() => ServerKey.TakeOrMake("short", folder));
        Directory.Delete(folder, recursive: true);
    }

    private static Task<RunningServer> StartAsync() =>
        RunningServer.StartAsync(services: services => services.AddSingleton(new ServerKey(Key)));
}
