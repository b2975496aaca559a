using Xunit;

[assembly: AssemblyFixture(typeof(StartedFolder))]

namespace CashEvents.Api.Tests.Hosting;

/// <summary>
/// A data folder whose first start is over, to be copied: making a cluster and its tables takes longer than all that
/// most tests do with them.
/// </summary>
public sealed class StartedFolder : IDisposable
{
    private static readonly TemporaryDataFolder _started = new();
    private static readonly Lazy<Task> _firstStart = new(async () =>
        await (await CashEventsProcess.ServeAsync(_started.Path)).DisposeAsync());

    /// <summary>Puts a copy where no folder is yet. Its book is empty and its key is kept in it.</summary>
    /// <returns>The keeper's key.</returns>
    internal static async Task<string> CopyToAsync(TemporaryDataFolder folder)
    {
        if (OperatingSystem.IsWindows())
        {
            await (await CashEventsProcess.ServeAsync(folder.Path)).DisposeAsync();
        }
        else
        {
            await _firstStart.Value;
            // With owners and rights: PostgreSQL insists on them.
            var copied = await Tool.RunAsync("cp", "-a", _started.Path, folder.Path);
            Assert.True(copied.Succeeded, copied.Output);
        }

        return (await File.ReadAllTextAsync(Path.Combine(folder.Path, "keeper.key"),
            TestContext.Current.CancellationToken)).Trim();
    }

    public void Dispose() => _started.Dispose();
}
