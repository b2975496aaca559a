using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>
/// A setting of the program: an environment variable, or a field of the file of settings. <c>--help</c> lists them.
/// </summary>
/// <param name="Name">Its name.</param>
/// <param name="Meaning">What it sets, and what holds where it is left out.</param>
/// <param name="Fault">What is wrong with a value, as a sentence; null where it is good.</param>
internal sealed record Setting(string Name, string Meaning, Func<string, string?>? Fault = null)
{
    private const int Indent = 34;
    private const int Width = 110;

    /// <summary>All of them.</summary>
    public static IReadOnlyList<Setting> All { get; } =
    [
        new("ConnectionStrings__CashEvents", "a PostgreSQL to use instead of a private one"),
        new(OwnPostgres.FolderVariable, "the folder of the private PostgreSQL and of the keeper's key"),
        new(SettingsFile.Variable, $"the file of settings; {SettingsFile.Usual} in the data folder if left out"),
        new(KeeperKey.Variable, "the keeper's key to use at the first start instead of a new one; 32 characters or "
            + "more"),
        new(ServerKey.Variable, "the key that opens households' books over HTTP, instead of the one that is made and "
            + "kept in server.key of the data folder"),
        new(KnownHosts.Setting, "other names of this machine under which the server is reached, with commas between"),
        new(BackupSettings.FolderVariable, "the folder of nightly backups; backups in the data folder if left out, "
            + "none if off"),
        new(BackupSettings.AtVariable, "the time of the day at which they are made; 03:00 if left out",
            value => TimeOnly.TryParseExact(value, "HH:mm", CultureInfo.InvariantCulture, DateTimeStyles.None, out _)
                ? null
                : "Give a time of the day, such as 03:00."),
        new(Database.StartsVariable, "how often in a row a private PostgreSQL that ended may fail to start again; 10 "
            + "(about two minutes) if left out. Then the program ends with 75",
            value => int.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out var times) && times > 0
                ? null
                : "Give a whole number from 1 on."),
        new(TrustClock, "true: believe the clock, even if it is behind the book's last line or long after it",
            TrueOrFalse),
        new(MetricsPort.Setting, "where measures are served alone and without a key, for a monitor"),
        new(BookMeasures.NamesSetting, "true: labels of measures have ids of households, wallets and compartments",
            TrueOrFalse),
        new(BookMeasures.AmountsSetting, "true: balances are among the measures", TrueOrFalse),
        new("OTEL_EXPORTER_OTLP_ENDPOINT", "where OpenTelemetry's measures and traces are sent"),
        new(BrokerSettings.UrlSetting, "a message broker to be told of the book, such as mqtt://127.0.0.1:1883"),
        new(BrokerSettings.KeySetting, "the household's key with which is read what the broker is told"),
        new(BrokerSettings.CommandKeySetting, "the key with which the broker's commands are written; none are taken "
            + "if left out"),
        new("CASHEVENTS_MQTT_USER", "as whom to sign in at the broker"),
        new("CASHEVENTS_MQTT_PASSWORD", "the password for it"),
        new(BrokerSettings.AuthoritySetting, "a PEM file with the authority that signed the broker's certificate"),
        new(BrokerSettings.VersionSetting, "5, or 3.1.1"),
        new("CASHEVENTS_MQTT_TOPIC", "what the broker's topics begin with; cashevents/ and the household's id if left "
            + "out"),
        new("CASHEVENTS_MQTT_DISCOVERY", "what discovery topics begin with; empty for none"),
        new("CASHEVENTS_MQTT_CLIENT_ID", "by which name the broker knows the program"),
        new(Log, "json: one JSON object a line in the log; plain if left out",
            value => value is "json" or "plain" ? null : "Give json or plain."),
    ];

    private const string Prefix = "CASHEVENTS_";

    // Those of cash, and of who builds the program.
    private static readonly string[] _others =
        ["CASHEVENTS_URL", "CASHEVENTS_KEY", "CASHEVENTS_TEST_", "CASHEVENTS_BENCHMARK_", "CASHEVENTS_RENEW_"];

    /// <summary>Whether the clock is always believed.</summary>
    public const string TrustClock = "CASHEVENTS_TRUST_CLOCK";

    /// <summary>The form of the log.</summary>
    public const string Log = "CASHEVENTS_LOG";

    /// <summary>How it is named among the settings that were read.</summary>
    public string Key => Name.Replace("__", ConfigurationPath.KeyDelimiter, StringComparison.Ordinal);

    /// <summary>All of them, for people to read.</summary>
    public static string Listed => string.Join(Environment.NewLine, All.SelectMany(setting => setting.Lines()));

    /// <summary>Whether the log is for programs to read.</summary>
    public static bool LogsJson(IConfiguration configuration) => configuration[Log]?.Trim() == "json";

    /// <summary>Looks at every value before anything is started.</summary>
    /// <exception cref="StartException">One is none; the message names it.</exception>
    public static void Check(IConfiguration configuration)
    {
        foreach (var setting in All)
        {
            if (configuration[setting.Key]?.Trim() is { Length: > 0 } value
                && setting.Fault?.Invoke(value) is { } fault)
            {
                throw new StartException($"{setting.Name} is '{value}'. {fault}");
            }
        }
    }

    /// <summary>
    /// What is to be told of names in the environment that look like settings and are none. They may be another
    /// program's, so nothing ends for them.
    /// </summary>
    public static IEnumerable<string> Unknown(IConfiguration environment) => environment.GetChildren()
        .Select(set => set.Key).Where(key => key.StartsWith(Prefix, StringComparison.OrdinalIgnoreCase)
            && !All.Any(setting => setting.Key.Equals(key, StringComparison.OrdinalIgnoreCase))
            && !_others.Any(name => key.StartsWith(name, StringComparison.OrdinalIgnoreCase)))
        .Select(key => $"There is no setting {key}; it is passed over.{Instead(key)}");

    /// <summary>The ways on for who wrote a name that is none.</summary>
    public static string Instead(string key)
    {
        var names = All.ToDictionary(setting => Slug.From(setting.Name), setting => setting.Name);
        return (NearNames.Of(key, names.Keys) is [var near, ..] ? $" Did you mean {names[near]}?" : "")
            + " --help lists all of them.";
    }

    private static string? TrueOrFalse(string value) => bool.TryParse(value, out _) ? null : "Give true or false.";

    private IEnumerable<string> Lines()
    {
        var line = $"  {Name}".PadRight(Indent);
        foreach (var word in Meaning.Split(' '))
        {
            if (line.Length > Indent && line.Length + 1 + word.Length > Width)
            {
                yield return line;
                line = new string(' ', Indent);
            }

            line += line.Length > Indent ? $" {word}" : word;
        }

        yield return line;
    }
}
