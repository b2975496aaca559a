using Xunit;

namespace CashEvents.EmbeddedPostgres.Tests;

/// <summary>A cluster that gives way to another, as to one of a newer major version.</summary>
public sealed class ReplacementTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();
    private readonly TemporaryDataFolder _other = new();
    private readonly KeptMessages _log = new();

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    private string Own => Path.Combine(_folder.Path, "postgresql");

    public void Dispose()
    {
        _folder.Dispose();
        _other.Dispose();
    }

    [Fact]
    public async Task The_other_is_in_force_and_its_own_is_kept()
    {
        await MakeAsync(_other, "new");
        string kept;
        await using (var server = await MakeAndRunAsync(_folder, "old"))
            kept = await server.ReplaceAsync(_other.Path, Stop);

        Assert.Equal("new", await NoteAsync());
        Assert.True(File.Exists(Path.Combine(kept, "PG_VERSION")));
        Assert.False(Directory.Exists(Path.Combine(_other.Path, "postgresql", "cluster")));
    }

    [Fact]
    public async Task One_that_runs_is_not_taken()
    {
        await using var running = await MakeAndRunAsync(_other, "new");
        await using (var server = await MakeAndRunAsync(_folder, "old"))
            await Assert.ThrowsAsync<PrivatePostgresException>(() => server.ReplaceAsync(_other.Path, Stop));

        Assert.Equal("old", await NoteAsync());
    }

    [Fact]
    public async Task Broken_off_before_its_own_was_set_aside_its_own_stays_in_force()
    {
        await MakeAsync(_folder, "old");
        await MakeAsync(_other, "new");
        Directory.Move(Path.Combine(_other.Path, "postgresql", "cluster"), Path.Combine(Own, "cluster.next"));

        Assert.Equal("old", await NoteAsync());
        Assert.False(Directory.Exists(Path.Combine(Own, "cluster.next")));
    }

    [Fact]
    public async Task Broken_off_after_that_the_next_start_puts_the_other_in_force()
    {
        await MakeAsync(_folder, "old");
        await MakeAsync(_other, "new");
        Directory.Move(Path.Combine(_other.Path, "postgresql", "cluster"), Path.Combine(Own, "cluster.next"));
        Directory.Move(Path.Combine(Own, "cluster"), Path.Combine(Own, "cluster-15-20261130T120000"));

        Assert.Equal("new", await NoteAsync());
    }

    private async Task<string?> NoteAsync()
    {
        await using var server = await StartAsync(_folder);
        return await server.AskAsync("SELECT text FROM note");
    }

    private async Task MakeAsync(TemporaryDataFolder folder, string note) =>
        await (await MakeAndRunAsync(folder, note)).DisposeAsync();

    private async Task<PrivatePostgres> MakeAndRunAsync(TemporaryDataFolder folder, string note)
    {
        var server = await StartAsync(folder);
        await server.AskAsync($"CREATE TABLE note (text text); INSERT INTO note VALUES ('{note}')");
        return server;
    }

    private Task<PrivatePostgres> StartAsync(TemporaryDataFolder folder) => PrivatePostgres.StartAsync(
        new PrivatePostgresOptions { DataFolder = folder.Path, Durable = false }, _log, Stop);
}
