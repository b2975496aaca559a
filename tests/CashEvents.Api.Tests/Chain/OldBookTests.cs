using Xunit;

namespace CashEvents.Api.Tests.Chain;

/// <summary>Books whose first lines were written before lines had a hash.</summary>
public sealed class OldBookTests : IAsyncLifetime
{
    private RunningServer _older = null!;
    private RunningServer _newer = null!;

    public async ValueTask InitializeAsync()
    {
        _older = await RunningServer.StartAsync();
        _newer = await RunningServer.StartAsync(_older.Database);
    }

    public async ValueTask DisposeAsync()
    {
        await _newer.DisposeAsync();
        await _older.DisposeAsync();
    }

    [Fact]
    public async Task A_book_without_any_hash_fits_as_it_stands_and_says_that_nothing_vouches_for_it()
    {
        var household = await OldBookAsync();

        var found = (await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json;

        Assert.True(found.GetProperty("agrees").GetBoolean());
        Assert.Equal(12, found.GetProperty("lines").GetInt64());
        Assert.Equal(12, found.GetProperty("withoutHash").GetInt64());
        Assert.DoesNotContain("hash", (await household.Keeper.GetAsync("/api/lines/12")).MustBe(200).Text);
    }

    [Fact]
    public async Task The_first_new_line_covers_the_old_ones_and_leaves_them_as_they_are()
    {
        var household = await OldBookAsync();

        await household.FillAsync("ferry-fares", "1.00");
        await household.FillAsync("ferry-fares", "1.00");

        (await household.Keeper.GetAsync("/api/verification")).MustBe(200).MustSay($$"""
            {"agrees": true, "lines": 14, "hash": "{{await household.HashAsync(14)}}", "withoutHash": 12}
            """);
        Assert.Empty(await household.HashAsync(12));
        Assert.NotEmpty(await household.HashAsync(13));
    }

    [Theory]
    [InlineData(1)]
    [ThoroughData(5)]
    [ThoroughData(12)]
    public async Task A_change_of_an_old_line_is_found_once_a_new_one_covers_it(int line)
    {
        var household = await OldBookAsync();
        await household.FillAsync("ferry-fares", "1.00");

        await RunAsync($"update cashevents.mt_events set user_name = 'nobody' where tenant_id = '{household.Id}' and "
            + $"version = {line}");

        var found = (await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json;
        Assert.False(found.GetProperty("agrees").GetBoolean());
        Assert.Equal(13, found.GetProperty("line").GetInt64());
        Assert.Contains("any of lines 1 to 12", found.GetProperty("reason").GetString());
    }

    [Fact]
    public async Task A_missing_old_line_is_found_before_any_covers_it()
    {
        var household = await OldBookAsync();

        await RunAsync($"delete from cashevents.mt_events where tenant_id = '{household.Id}' and version = 5");

        Assert.Equal(5, (await household.Keeper.GetAsync("/api/verification")).MustBe(200).Json.GetProperty("line")
            .GetInt64());
    }

    [Fact]
    public async Task A_server_that_knew_the_book_catches_up_with_lines_that_an_older_one_wrote()
    {
        var older = await Household.OpenAsync(_older);
        var newer = older.At(_newer);
        await newer.FillAsync("ferry-fares", "1.00");
        await older.FillAsync("ferry-fares", "1.00");
        await ForgetHashesAsync(older);

        await newer.FillAsync("ferry-fares", "1.00");

        (await newer.Keeper.GetAsync("/api/verification")).MustBe(200).MustHave($$"""
            {"agrees": true, "lines": 13, "hash": "{{await newer.HashAsync(13)}}", "withoutHash": 12}
            """);
    }

    /// <summary>
    /// Twelve lines as a version without hashes left them; the server that is asked has not seen the book yet.
    /// </summary>
    private async Task<Household> OldBookAsync()
    {
        var household = await Household.OpenAsync(_older);
        await household.FillAsync("ferry-fares", "60.00");
        await household.SpendAsync("ferry-fares", "8.40");
        await ForgetHashesAsync(household);
        return household.At(_newer);
    }

    private Task ForgetHashesAsync(Household household) => RunAsync($"""
        update cashevents.mt_events set headers = null where tenant_id = '{household.Id}';
        update cashevents.mt_doc_bookpage set data = data - 'hash' where tenant_id = '{household.Id}'
        """);

    private async Task RunAsync(string sql) => await Database.AskAsync(_older.Database, sql);
}
