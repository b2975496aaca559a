using System.Collections.Concurrent;
using System.Text.Json;
using System.Threading.Channels;
using MQTTnet;
using MQTTnet.Protocol;

namespace CashEvents.Api.Hosting;

/// <summary>
/// Keeps a message broker told of a household's book (MQTT 5 or 3.1.1), where a setting names one. A broker that is
/// away is looked for again, with growing pauses.
/// </summary>
internal sealed class BrokerLink(IConfiguration configuration, KeyRing keys, NewLines newLines, OwnApi api,
    ServerMeasures measures, IHostApplicationLifetime program, ILogger<BrokerLink> logger) : BackgroundService
{
    private const string Way = "mqtt";
    private const string Delivered = "delivered";
    private const uint KeptForSeconds = 24 * 60 * 60;

    private static readonly TimeSpan _firstPause = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan _longestPause = TimeSpan.FromMinutes(1);

    // A new day changes the week.
    private static readonly TimeSpan _looksEvery = TimeSpan.FromMinutes(1);

    // What is written together is told together.
    private static readonly TimeSpan _gathers = TimeSpan.FromMilliseconds(100);

    private readonly ConcurrentDictionary<string, string> _said = new(StringComparer.Ordinal);

    /// <summary>Read before anything is served, so that a setting that can't be read ends the start.</summary>
    private readonly BrokerSettings? _settings = BrokerSettings.Read(configuration);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (_settings is null || !await StartedAsync(stoppingToken).ConfigureAwait(false))
        {
            return;
        }

        var told = false;
        for (var pause = _firstPause; !stoppingToken.IsCancellationRequested;)
        {
            try
            {
                await StayAsync(_settings, () => (pause, told) = (_firstPause, false), stoppingToken)
                    .ConfigureAwait(false);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                return;
            }
#pragma warning disable CA1031 // Whatever goes wrong with a broker, the book goes on, and it is looked for again.
            catch (Exception failure)
#pragma warning restore CA1031
            {
                measures.Delivered(Way, "failed");
                if (!told)
                {
                    logger.LogWarning("The broker at {Broker} is not told of the book. {Reason} It is tried again.",
                        _settings.Url, failure.GetBaseException().Message);
                    told = true;
                }
            }

            await PauseAsync(pause, stoppingToken).ConfigureAwait(false);
            pause = pause * 2 < _longestPause ? pause * 2 : _longestPause;
        }
    }

    private static Task PauseAsync(TimeSpan pause, CancellationToken stop) =>
        Task.Delay(pause, stop).ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.None,
            TaskScheduler.Default);

    private async Task<bool> StartedAsync(CancellationToken stop)
    {
        var started = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        await using var onStart = program.ApplicationStarted.Register(started.SetResult);
        await using var onStop = stop.Register(() => started.TrySetCanceled(stop));
        try
        {
            await started.Task.ConfigureAwait(false);
            return true;
        }
        catch (OperationCanceledException)
        {
            return false;
        }
    }

    /// <summary>Connects, and tells what there is until the connection is lost.</summary>
    private async Task StayAsync(BrokerSettings settings, Action isConnected, CancellationToken stop)
    {
        var household = (await keys.FindAsync(settings.Key, stop).ConfigureAwait(false))?.Household
            ?? throw new InvalidOperationException($"{BrokerSettings.KeySetting} is no household's key.");
        var topic = settings.Topic ?? $"cashevents/{household}";
        var states = new BrokerStates(topic, settings.Discovery, household);
        using var client = new MqttClientFactory().CreateMqttClient();
        using var over = CancellationTokenSource.CreateLinkedTokenSource(stop);
        client.DisconnectedAsync += _ => over.CancelAsync();
        var commands = settings.CommandKey is { } key ? new BrokerCommands(api, key, topic, settings.Discovery) : null;
        if (commands is not null)
        {
            client.ApplicationMessageReceivedAsync += async received =>
            {
                // What was not answered is delivered again.
                received.AutoAcknowledge = false;
                if (await commands.AnswerAsync(received.ApplicationMessage, over.Token).ConfigureAwait(false)
                    is { } reply)
                {
                    await client.PublishAsync(reply, over.Token).ConfigureAwait(false);
                    measures.Delivered(Way, Delivered);
                }

                await received.AcknowledgeAsync(over.Token).ConfigureAwait(false);
            };
        }

        try
        {
            await ConnectAsync(client, settings, states, household, stop).ConfigureAwait(false);
            isConnected();
            // A broker that was started again may have forgotten all.
            _said.Clear();
            foreach (var command in commands?.Topics ?? [])
            {
                await client.SubscribeAsync(command, MqttQualityOfServiceLevel.AtLeastOnce, over.Token)
                    .ConfigureAwait(false);
            }

            await KeepTellingAsync(client, settings, states, household, over.Token).ConfigureAwait(false);
        }
        catch (OperationCanceledException) when (!stop.IsCancellationRequested)
        {
            throw new IOException("The connection to it is lost.");
        }
        finally
        {
            await LeaveAsync(client, states).ConfigureAwait(false);
        }
    }

    private static async Task ConnectAsync(IMqttClient client, BrokerSettings settings, BrokerStates states,
        string household, CancellationToken stop)
    {
        var options = new MqttClientOptionsBuilder()
            .WithTcpServer(settings.Url.Host, settings.Port)
            .WithProtocolVersion(settings.Version)
            .WithClientId(settings.ClientId ?? $"cashevents-{household}")
            .WithKeepAlivePeriod(TimeSpan.FromSeconds(30))
            // Commands that come while the connection is lost are delivered after it.
            .WithCleanStart(false)
            .WithSessionExpiryInterval(KeptForSeconds)
            .WithWillTopic(states.Status).WithWillPayload(BrokerStates.Offline).WithWillRetain()
            .WithWillQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce);
        if (settings.User is { } user)
        {
            options = options.WithCredentials(user, settings.Password);
        }

        if (settings.IsSecure)
        {
            options = options.WithTlsOptions(tls =>
            {
                tls.UseTls().WithTargetHost(settings.Url.Host);
                if (settings.Authorities is { } authorities)
                {
                    tls.WithTrustChain(authorities);
                }
            });
        }

        var connected = await client.ConnectAsync(options.Build(), stop).ConfigureAwait(false);
        if (connected.ResultCode != MqttClientConnectResultCode.Success)
        {
            throw new IOException($"It does not let this program in: {connected.ResultCode}.");
        }
    }

    private async Task KeepTellingAsync(IMqttClient client, BrokerSettings settings, BrokerStates states,
        string household, CancellationToken over)
    {
        // A notice is no line, and comes a moment after the one that it is about.
        var noticed = Channel.CreateBounded<bool>(
            new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
        void Hear(string of, long _)
        {
            if (of == household)
            {
                noticed.Writer.TryWrite(true);
            }
        }

        newLines.Noticed += Hear;
        using var unheard = over.Register(() => newLines.Noticed -= Hear);
        while (true)
        {
            var next = newLines.NextAsync(household);
            var said = await ReadAsync(states, settings.Key, over).ConfigureAwait(false);
            // What is there no more says nothing; a broker lets go of what it kept of it.
            var gone = said[states.Status] == BrokerStates.Online ? _said.Keys.Except(said.Keys) : [];
            foreach (var (topic, words) in gone.Select(topic => KeyValuePair.Create(topic, ""))
                .Concat(said.OrderBy(s => s.Key == states.Status)).ToList())
            {
                await SayAsync(client, topic, words, over).ConfigureAwait(false);
            }

            await Task.WhenAny(next, noticed.Reader.WaitToReadAsync(over).AsTask(), Task.Delay(_looksEvery, over))
                .ConfigureAwait(false);
            noticed.Reader.TryRead(out _);
            over.ThrowIfCancellationRequested();
            await Task.Delay(_gathers, over).ConfigureAwait(false);
        }
    }

    private async Task<Dictionary<string, string>> ReadAsync(BrokerStates states, string key, CancellationToken over)
    {
        var balances = await AskAsync("/api/balances", key, over).ConfigureAwait(false);
        var said = balances.Answer is { } there
            ? new Dictionary<string, string>(states.Of(there,
                (await AskAsync("/api/today", key, over).ConfigureAwait(false)).Answer!.Value,
                (await AskAsync("/api/weeks/current", key, over).ConfigureAwait(false)).Answer,
                (await AskAsync("/api/notices", key, over).ConfigureAwait(false)).Answer!.Value),
                StringComparer.Ordinal)
            : new Dictionary<string, string>(StringComparer.Ordinal);
        // A key that is accepted no more reads nothing: what stands there is old.
        said[states.Status] = balances.Status is StatusCodes.Status401Unauthorized ? BrokerStates.Offline
            : BrokerStates.Online;
        return said;
    }

    private async Task<(int Status, JsonElement? Answer)> AskAsync(string path, string key, CancellationToken over)
    {
        var (status, answer) = await api.AskAsync(HttpMethod.Get, path, key, null, over).ConfigureAwait(false);
        return status switch
        {
            StatusCodes.Status200OK => (status, JsonDocument.Parse(answer).RootElement),
            >= 500 => throw new IOException($"The book can't be read just now ({status})."),
            _ => (status, null),
        };
    }

    private async Task SayAsync(IMqttClient client, string topic, string words, CancellationToken over)
    {
        if (_said.TryGetValue(topic, out var before) && before == words)
        {
            return;
        }

        await client.PublishAsync(new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(words)
            .WithRetainFlag().WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build(), over)
            .ConfigureAwait(false);
        measures.Delivered(Way, Delivered);
        _said[topic] = words;
    }

    // Who leaves says so itself: the broker tells the will only where a connection breaks.
    private static async Task LeaveAsync(IMqttClient client, BrokerStates states)
    {
        if (!client.IsConnected)
        {
            return;
        }

        using var soon = new CancellationTokenSource(TimeSpan.FromSeconds(2));
        try
        {
            await client.PublishAsync(new MqttApplicationMessageBuilder().WithTopic(states.Status)
                .WithPayload(BrokerStates.Offline).WithRetainFlag()
                .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build(), soon.Token)
                .ConfigureAwait(false);
            await client.DisconnectAsync(new MqttClientDisconnectOptions(), soon.Token).ConfigureAwait(false);
        }
#pragma warning disable CA1031 // It is over either way.
        catch (Exception)
#pragma warning restore CA1031
        {
            // The will says the same.
        }
    }
}
