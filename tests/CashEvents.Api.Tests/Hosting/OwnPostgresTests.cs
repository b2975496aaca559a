using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed class OwnPostgresTests
{
    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("  ")]
    public void Its_folder_bears_the_programs_name_when_none_is_chosen(string? chosen)
    {
        Assert.True(Path.IsPathFullyQualified(OwnPostgres.Folder(chosen)));
        Assert.Equal("cashevents", Path.GetFileName(OwnPostgres.Folder(chosen)));
    }

    [Fact]
    public void Its_folder_is_the_chosen_one_as_an_absolute_path() =>
        Assert.Equal(Path.Combine(Environment.CurrentDirectory, "my-data"), OwnPostgres.Folder(" my-data "));

    [Fact]
    public async Task A_machine_without_a_server_is_told_three_ways_on()
    {
        using var folder = new TemporaryDataFolder();

        var missing = await Assert.ThrowsAsync<PostgresNotFoundException>(() => PrivatePostgres.StartAsync(
            OwnPostgres.In(folder.Path) with { BinaryFolders = [], UnpackWithNpm = false },
            cancellationToken: TestContext.Current.CancellationToken));

        Assert.Contains("ConnectionStrings__CashEvents", missing.Message);
        Assert.Contains("docker compose up", missing.Message);
        Assert.Contains("apt install postgresql", missing.Message);
    }

    [Fact]
    public async Task A_folder_that_can_not_be_used_is_told_with_the_variable_that_names_another()
    {
        using var folder = new TemporaryDataFolder();
        Directory.CreateDirectory(folder.Path);
        var file = Path.Combine(folder.Path, "shopping-list.txt");
        await File.WriteAllTextAsync(file, "", TestContext.Current.CancellationToken);

        var refused = await Assert.ThrowsAsync<PrivatePostgresException>(() => PrivatePostgres.StartAsync(
            OwnPostgres.In(Path.Combine(file, "data")), cancellationToken: TestContext.Current.CancellationToken));

        Assert.Contains(OwnPostgres.FolderVariable, refused.Message);
        Assert.Contains(OwnPostgres.FolderVariable,
            Assert.Throws<PrivatePostgresException>(() => OwnPostgres.MakeFolder(Path.Combine(file, "data"))).Message);
    }
}
