namespace CashEvents.EmbeddedPostgres.Tests;

/// <summary>A data folder of a test's own, removed with the test.</summary>
/// <param name="name">The last part of its path, for tests of awkward ones.</param>
internal sealed class TemporaryDataFolder(string name = "") : IDisposable
{
    private readonly string _top = NewPath();

    public string Path => System.IO.Path.Combine(_top, name);

    /// <summary>A path that isn't there yet: the program makes the folder itself, open to the server's user.</summary>
    public static string NewPath() =>
        System.IO.Path.Combine(System.IO.Path.GetTempPath(), "postgres-test-" + Guid.NewGuid().ToString("N")[..12]);

    public void Dispose()
    {
        if (Directory.Exists(_top))
            Directory.Delete(_top, recursive: true);
    }
}
