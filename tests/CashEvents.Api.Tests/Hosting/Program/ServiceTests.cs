using System.Diagnostics;
using System.Net.Sockets;
using System.Text;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>The program as a service of systemd (sd_notify(3), <c>Type=notify</c>).</summary>
public sealed class ServiceTests : IDisposable
{
    private readonly TemporaryDataFolder _folder = new();
    private readonly string _manager = Directory.CreateTempSubdirectory("service-").FullName;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        _folder.Dispose();
        Directory.Delete(_manager, recursive: true);
    }

    [ThoroughFact]
    public async Task The_manager_hears_that_the_books_are_served_and_that_it_ends()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "systemd is Linux's.");
        await StartedFolder.CopyToAsync(_folder);
        using var heard = new Socket(AddressFamily.Unix, SocketType.Dgram, ProtocolType.Unspecified);
        var socket = Path.Combine(_manager, "notify");
        heard.Bind(new UnixDomainSocketEndPoint(socket));
        // The program looks at the name of whoever started it.
        File.Copy("/bin/sh", Path.Combine(_manager, "systemd"));

        var start = new ProcessStartInfo(Path.Combine(_manager, "systemd"),
            ["-c", "dotnet exec \"$0\" --urls http://127.0.0.1:0 >/dev/null & echo $!; wait",
                typeof(Api.Hosting.Server).Assembly.Location])
        {
            RedirectStandardOutput = true,
            Environment = { ["CASHEVENTS_DATA"] = _folder.Path, ["NOTIFY_SOCKET"] = socket },
        };
        using var manager = Process.Start(start)!;
        var program = (await manager.StandardOutput.ReadLineAsync(Stop))!;

        Assert.Contains("READY=1", await NextAsync(heard));
        Assert.True((await Tool.RunAsync("kill", "-TERM", program)).Succeeded);
        Assert.Contains("STOPPING=1", await NextAsync(heard));
        await manager.WaitForExitAsync(Stop);
    }

    private static async Task<string> NextAsync(Socket heard)
    {
        var message = new byte[1024];
        return Encoding.UTF8.GetString(message, 0, await heard.ReceiveAsync(message, Stop));
    }
}
