using Xunit;

namespace CashEvents.Api.Tests.PostgreSql;

public sealed class DataFolderTests
{
    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("  ")]
    public void Is_the_default_when_none_is_configured(string? configured) =>
        Assert.Equal(DataFolder.Default(), DataFolder.Resolve(configured));

    [Fact]
    public void Is_the_configured_one_as_an_absolute_path() =>
        Assert.Equal(Path.Combine(Environment.CurrentDirectory, "my-data"), DataFolder.Resolve(" my-data "));

    [Fact]
    public void Of_the_program_bears_its_name()
    {
        Assert.True(Path.IsPathFullyQualified(DataFolder.Default()));
        Assert.Equal("cashevents", Path.GetFileName(DataFolder.Default()));
    }
}
