using System.Collections.Concurrent;
using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Text;
using MQTTnet;
using MQTTnet.Protocol;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>Debian's mosquitto, on a port of its own; it keeps nothing when it ends.</summary>
internal sealed class MosquittoBroker : IAsyncDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("broker-").FullName;
    private readonly string _settings;
    private Process? _process;

    private MosquittoBroker(string settings) => _settings = settings;

    public int Port { get; } = FreePort();

    public static async Task<MosquittoBroker> StartAsync(string settings = "allow_anonymous true",
        Action<MosquittoBroker>? prepare = null)
    {
        var broker = new MosquittoBroker(settings);
        prepare?.Invoke(broker);
        await broker.StartAgainAsync();
        return broker;
    }

    /// <summary>Where a file of its settings lies.</summary>
    public string FileNamed(string name) => Path.Combine(_folder, name);

    public async Task StartAgainAsync()
    {
        Assert.SkipUnless(Program is not null || Environment.GetEnvironmentVariable("CI") is not null,
            "Needs mosquitto.");
        var file = FileNamed("mosquitto.conf");
        await File.WriteAllTextAsync(file, $"listener {Port} 127.0.0.1\nuser root\n"
            + _settings.Replace("FOLDER", _folder, StringComparison.Ordinal) + "\n");
        _process = Process.Start(new ProcessStartInfo(Program!, ["-c", file]) { RedirectStandardError = true })!;
        _process.BeginErrorReadLine();
        for (var tries = 0; ; tries++)
        {
            try
            {
                using var client = new TcpClient();
                await client.ConnectAsync(IPAddress.Loopback, Port);
                return;
            }
            catch (SocketException) when (tries < 200 && !_process.HasExited)
            {
                await Task.Delay(50);
            }
        }
    }

    /// <summary>Ends it as a power cut would.</summary>
    public async Task KillAsync()
    {
        _process!.Kill();
        await _process.WaitForExitAsync();
    }

    public async ValueTask DisposeAsync()
    {
        if (_process is { HasExited: false })
        {
            await KillAsync();
        }

        _process?.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    private static string? Program { get; } = new[] { "/usr/sbin/mosquitto", "/usr/bin/mosquitto",
        "/usr/local/sbin/mosquitto" }.FirstOrDefault(File.Exists);

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}

/// <summary>Hears all that a broker is told, and keeps the last of each topic.</summary>
internal sealed class BrokerListener : IAsyncDisposable
{
    private readonly ConcurrentDictionary<string, string> _last = new(StringComparer.Ordinal);
    private readonly ConcurrentQueue<(string Topic, string Words, string? Correlation)> _all = new();
    private readonly IMqttClient _client = new MqttClientFactory().CreateMqttClient();

    public IReadOnlyDictionary<string, string> Last => _last;

    /// <summary>All that was said on a topic, with the correlation data of a reply.</summary>
    public IEnumerable<(string Words, string? Correlation)> SaidOn(string topic) =>
        _all.Where(m => m.Topic == topic).Select(m => (m.Words, m.Correlation));

    public static async Task<BrokerListener> ConnectAsync(MosquittoBroker broker,
        Func<MqttClientOptionsBuilder, MqttClientOptionsBuilder>? more = null)
    {
        var listener = new BrokerListener();
        listener._client.ApplicationMessageReceivedAsync += received =>
        {
            var message = received.ApplicationMessage;
            var words = Encoding.UTF8.GetString(message.Payload);
            listener._last[message.Topic] = words;
            listener._all.Enqueue((message.Topic, words,
                message.CorrelationData is { } data ? Encoding.UTF8.GetString(data) : null));
            return Task.CompletedTask;
        };
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", broker.Port)
            .WithProtocolVersion(MQTTnet.Formatter.MqttProtocolVersion.V500);
        await listener._client.ConnectAsync((more?.Invoke(options) ?? options).Build());
        await listener._client.SubscribeAsync("#", MqttQualityOfServiceLevel.AtLeastOnce);
        return listener;
    }

    /// <summary>Waits until something is so.</summary>
    public async Task UntilAsync(Func<IReadOnlyDictionary<string, string>, bool> isSo)
    {
        for (var tries = 0; !isSo(_last); tries++)
        {
            Assert.True(tries < 600, "It did not come about. Said last: "
                + string.Join("\n", _last.Select(l => $"{l.Key} {l.Value}")));
            await Task.Delay(50);
        }
    }

    public Task SendAsync(string topic, string words, string? replyTo = null, string? correlation = null,
        bool retained = false)
    {
        var message = new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(words).WithRetainFlag(retained)
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce);
        if (replyTo is not null)
        {
            message = message.WithResponseTopic(replyTo);
        }

        if (correlation is not null)
        {
            message = message.WithCorrelationData(Encoding.UTF8.GetBytes(correlation));
        }

        return _client.PublishAsync(message.Build());
    }

    public ValueTask DisposeAsync()
    {
        _client.Dispose();
        return ValueTask.CompletedTask;
    }
}
