using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>A real file system of its own that is soon full.</summary>
internal sealed class SmallDisk : IAsyncDisposable
{
    private readonly string _mount;

    private SmallDisk(string mount) => _mount = mount;

    /// <summary>A data folder on it.</summary>
    public string Folder => Path.Combine(_mount, "data");

    private string Filler => Path.Combine(_mount, "filler");

    /// <summary>Mounts one, or skips the test where that is not allowed.</summary>
    public static async Task<SmallDisk> MountAsync()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux() && Environment.IsPrivilegedProcess,
            "Only root mounts a file system.");
        var mount = Directory.CreateDirectory(TemporaryDataFolder.NewPath()).FullName;
        var mounted = await Tool.RunAsync("mount", "-t", "tmpfs", "-o", "size=160m,mode=755", "tmpfs", mount);
        if (!mounted.Succeeded)
        {
            Directory.Delete(mount);
            Assert.Skip("This machine mounts nothing: " + mounted.Output);
        }

        return new SmallDisk(mount);
    }

    /// <summary>Leaves no byte.</summary>
    public void Fill()
    {
        using var filler = File.Create(Filler);
        var piece = new byte[4096];
        try
        {
            while (true)
            {
                filler.Write(piece);
                filler.Flush();
            }
        }
        catch (IOException)
        {
            // It is full.
        }
    }

    public void Empty() => File.Delete(Filler);

    public async ValueTask DisposeAsync()
    {
        await Tool.RunAsync("umount", "-l", _mount);
        Directory.Delete(_mount);
    }
}
