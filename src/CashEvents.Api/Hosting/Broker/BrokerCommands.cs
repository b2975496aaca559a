using System.Text;
using System.Text.Json;
using MQTTnet;
using MQTTnet.Protocol;

namespace CashEvents.Api.Hosting;

/// <summary>
/// Spends and transfers that come as messages. Each says what the same request over HTTP says, with an idempotency key
/// in it: a broker may deliver it twice, and it is written once.
/// </summary>
internal sealed class BrokerCommands(OwnApi api, string key, string topic, string discovery)
{
    private const int LongestCommand = 64 * 1024;

    private static readonly Dictionary<string, string> _addresses = new()
    {
        ["spend"] = "/api/spends",
        ["transfer"] = "/api/transfers",
    };

    /// <summary>The topics that they come by.</summary>
    public IEnumerable<string> Topics => _addresses.Keys.Select(word => $"{topic}/commands/{word}");

    /// <summary>
    /// Does what a message asks for, and says what became of it; null where it is no command. One that a broker kept
    /// and delivers to whoever comes (retained) is none: it was meant for somebody who was there.
    /// </summary>
    public async Task<MqttApplicationMessage?> AnswerAsync(MqttApplicationMessage message, CancellationToken stop)
    {
        if (message.Retain || _addresses.FirstOrDefault(a => message.Topic == $"{topic}/commands/{a.Key}").Value
            is not { } address)
        {
            return null;
        }

        var (idempotencyKey, body, fault) = Read(message);
        var (status, answer) = fault is not null ? (StatusCodes.Status400BadRequest, Problem(fault))
            : await AskAsync(address, body, stop).ConfigureAwait(false);
        var reply = new MqttApplicationMessageBuilder()
            .WithTopic(ReplyTopic(message))
            .WithPayload($"{{\"idempotencyKey\":{JsonSerializer.Serialize(idempotencyKey)},\"status\":{status},"
                + $"\"answer\":{answer}}}")
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce);
        return (message.CorrelationData is { Length: > 0 } correlation ? reply.WithCorrelationData(correlation) : reply)
            .Build();
    }

    // Whoever sends a command says where its reply goes (MQTT 5, section 4.10), but not into what others are told.
    private string ReplyTopic(MqttApplicationMessage message)
    {
        var usual = $"{topic}/replies";
        return message.ResponseTopic is { Length: > 0 } asked && asked.IndexOfAny(['#', '+']) < 0
            && !asked.StartsWith('$')
            && (!IsBelow(asked, topic) || IsBelow(asked, usual)) && !(discovery.Length > 0 && IsBelow(asked, discovery))
                ? asked : usual;
    }

    private static bool IsBelow(string asked, string above) =>
        asked == above || asked.StartsWith(above + "/", StringComparison.Ordinal);

    private static (string? Key, string Body, string? Fault) Read(MqttApplicationMessage message)
    {
        const string needs = "A command is a JSON object as the same request over HTTP takes it, and its "
            + "`idempotencyKey` is needed: a broker may deliver a message twice.";
        if (message.Payload.Length > LongestCommand)
        {
            return (null, "", "The command is too large.");
        }

        try
        {
            var body = new UTF8Encoding(false, throwOnInvalidBytes: true).GetString(message.Payload);
            using var read = JsonDocument.Parse(body);
            return read.RootElement.ValueKind == JsonValueKind.Object
                && read.RootElement.TryGetProperty("idempotencyKey", out var key)
                && key.ValueKind == JsonValueKind.String
                    ? (key.GetString(), body, null) : (null, "", needs);
        }
        catch (Exception fault) when (fault is JsonException or ArgumentException)
        {
            return (null, "", needs);
        }
    }

    private async Task<(int, string)> AskAsync(string address, string body, CancellationToken stop)
    {
        try
        {
            var (status, answer) = await api.AskAsync(HttpMethod.Post, address, key, body, stop).ConfigureAwait(false);
            return (status, answer.Length > 0 ? answer : "null");
        }
        catch (Exception failure) when (failure is HttpRequestException
            || (failure is OperationCanceledException && !stop.IsCancellationRequested))
        {
            return (StatusCodes.Status503ServiceUnavailable, Problem("The program does not answer just now: send the "
                + "command again with the same idempotency key."));
        }
    }

    private static string Problem(string detail) => JsonSerializer.Serialize(
        new { code = "malformed", detail }, ApiJson.Options);
}
