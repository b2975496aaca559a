using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using MQTTnet.Formatter;

namespace CashEvents.Api.Hosting;

/// <summary>How a message broker is reached, and what goes there and comes back.</summary>
/// <param name="Url">Where it is: <c>mqtt://host:1883</c>, or <c>mqtts://host:8883</c> with TLS.</param>
/// <param name="Key">The household's key with which is read what is told: a viewer's is enough.</param>
internal sealed record BrokerSettings(Uri Url, string Key)
{
    public const string UrlSetting = "CASHEVENTS_MQTT_URL";
    public const string KeySetting = "CASHEVENTS_MQTT_KEY";
    public const string CommandKeySetting = "CASHEVENTS_MQTT_COMMAND_KEY";
    public const string VersionSetting = "CASHEVENTS_MQTT_VERSION";
    public const string AuthoritySetting = "CASHEVENTS_MQTT_CA";

    private const string Tls = "mqtts";

    /// <summary>The key with which commands are written; null where none are taken.</summary>
    public string? CommandKey { get; init; }

    /// <summary>As whom it signs in; null for nobody.</summary>
    public string? User { get; init; }

    /// <summary>Its password.</summary>
    public string? Password { get; init; }

    /// <summary>Who may have signed the broker's certificate; those that the machine trusts if left out.</summary>
    public X509Certificate2Collection? Authorities { get; init; }

    /// <summary>5 or 3.1.1.</summary>
    public MqttProtocolVersion Version { get; init; } = MqttProtocolVersion.V500;

    /// <summary>What all topics begin with; made of the household's id if left out.</summary>
    public string? Topic { get; init; }

    /// <summary>What the topics begin with that home hubs find devices by; empty for none.</summary>
    public string Discovery { get; init; } = "homeassistant";

    /// <summary>By which name the broker knows this program; made of the household's id if left out.</summary>
    public string? ClientId { get; init; }

    /// <summary>Whether it is reached by TLS.</summary>
    public bool IsSecure => Url.Scheme == Tls;

    /// <summary>Its port.</summary>
    public int Port => Url.Port > 0 ? Url.Port : IsSecure ? 8883 : 1883;

    /// <summary>Reads them; null where no broker is named.</summary>
    /// <exception cref="StartException">One can't be read; says the mend.</exception>
    public static BrokerSettings? Read(IConfiguration settings)
    {
        if (settings[UrlSetting] is not { Length: > 0 } written)
        {
            return null;
        }

        if (!Uri.TryCreate(written, UriKind.Absolute, out var url) || url.Scheme is not ("mqtt" or Tls)
            || url.Host.Length == 0 || url.PathAndQuery is not ("" or "/"))
        {
            throw new StartException($"{UrlSetting} is '{url?.GetLeftPart(UriPartial.Scheme) ?? written}': write an "
                + $"address such as mqtt://127.0.0.1:1883, or mqtts://broker.example:8883 with TLS.");
        }

        if (url.UserInfo.Length > 0)
        {
            throw new StartException($"{UrlSetting} has a user in it: write it in CASHEVENTS_MQTT_USER, and the "
                + $"password in CASHEVENTS_MQTT_PASSWORD.");
        }

        return new BrokerSettings(url, settings[KeySetting] is { Length: > 0 } key ? key.Trim()
            : throw new StartException($"{UrlSetting} is set, and {KeySetting} is not: write the key of the household "
                + $"whose book is told, best a viewer's."))
        {
            CommandKey = Given(CommandKeySetting),
            User = Given("CASHEVENTS_MQTT_USER"),
            Password = settings["CASHEVENTS_MQTT_PASSWORD"],
            Authorities = Given(AuthoritySetting) is { } file ? Certificates(file) : null,
            Version = Given(VersionSetting) switch
            {
                null or "5" or "5.0" => MqttProtocolVersion.V500,
                "3.1.1" => MqttProtocolVersion.V311,
                var other => throw new StartException($"{VersionSetting} is '{other}': write 5 or 3.1.1."),
            },
            Topic = Given("CASHEVENTS_MQTT_TOPIC") is { } topic ? Plain("CASHEVENTS_MQTT_TOPIC", topic) : null,
            Discovery = settings["CASHEVENTS_MQTT_DISCOVERY"] is { } discovery
                ? Plain("CASHEVENTS_MQTT_DISCOVERY", discovery.Trim()) : "homeassistant",
            ClientId = Given("CASHEVENTS_MQTT_CLIENT_ID"),
        };

        string? Given(string name) => settings[name] is { Length: > 0 } value ? value.Trim() : null;
    }

    private static string Plain(string setting, string topic) =>
        topic.IndexOfAny(['#', '+', '\0']) < 0 && !topic.StartsWith('$') ? topic.Trim('/')
        : throw new StartException($"{setting} is '{topic}', and a topic to write to has no #, no + and no $ before "
            + $"it: write one such as home/cash.");

    private static X509Certificate2Collection Certificates(string file)
    {
        try
        {
            var certificates = new X509Certificate2Collection();
            certificates.ImportFromPemFile(file);
            return certificates.Count > 0 ? certificates
                : throw new StartException($"{AuthoritySetting} names '{file}', and no certificate is in it: it has to "
                    + $"be in PEM form.");
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException
            or CryptographicException)
        {
            throw new StartException($"{AuthoritySetting} names '{file}', which can't be read: {failure.Message}");
        }
    }
}
