using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace CashEvents.Api.Hosting;

/// <summary>
/// What a broker keeps of a book: a topic for each compartment and wallet, one for the household, one for the week and
/// one for what the household is to know.
/// Amounts are the API's own decimals, figure by figure.
/// </summary>
/// <param name="topic">What all topics begin with.</param>
/// <param name="discovery">What the topics begin with by which home hubs find devices; empty for none.</param>
/// <param name="household">Id of the household.</param>
internal sealed class BrokerStates(string topic, string discovery, string household)
{
    /// <summary>What the program's state topic says while it is connected.</summary>
    public const string Online = "online";

    /// <summary>What it says otherwise; the broker says so if the connection breaks.</summary>
    public const string Offline = "offline";

    private static readonly JsonSerializerOptions _plain =
        new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>Whether the program is there.</summary>
    public string Status { get; } = $"{topic}/status";

    /// <summary>The topics and what they say now.</summary>
    /// <param name="balances">The answer of <c>/api/balances</c>.</param>
    /// <param name="today">The answer of <c>/api/today</c>.</param>
    /// <param name="week">The answer of <c>/api/weeks/current</c>; null while it has none.</param>
    /// <param name="notices">The answer of <c>/api/notices</c>.</param>
    public IReadOnlyDictionary<string, string> Of(JsonElement balances, JsonElement today, JsonElement? week,
        JsonElement notices)
    {
        var said = new Dictionary<string, string>(StringComparer.Ordinal);
        var currency = balances.GetProperty("currency").GetString()!;
        var device = Device(balances.GetProperty("household").GetProperty("name").GetString()!);
        foreach (var (sort, each) in new[] { ("compartment", "compartments"), ("wallet", "wallets") })
        {
            foreach (var state in balances.GetProperty(each).EnumerateArray())
            {
                var (id, label) = (state.GetProperty(sort).GetString()!, state.GetProperty("label").GetString()!);
                said[$"{topic}/{each}/{id}"] = state.GetRawText();
                Announce(said, device, $"{sort}-{id}", label, $"{topic}/{each}/{id}", "total", currency);
            }
        }

        said[$"{topic}/household"] = Joined(balances.GetProperty("household"), today, "date", "month", "nextPayday",
            ("currency", currency));
        Announce(said, device, "household", "All", $"{topic}/household", "total", currency);
        AnnounceDay(said, device, "next-payday", "Next payday", $"{topic}/household", "nextPayday");
        if (week is { } running)
        {
            said[$"{topic}/week"] = running.GetRawText();
            Announce(said, device, "week-left", "Left this week", $"{topic}/week", "totals.left", currency);
            AnnounceDay(said, device, "money-ends", "Money ends", $"{topic}/week", "totals.moneyEnds");
        }

        var open = notices.GetProperty("notices");
        said[$"{topic}/notices"] = string.Create(CultureInfo.InvariantCulture,
            $$"""{"count":{{open.GetArrayLength()}},"notices":{{open.GetRawText()}}}""");
        Announce(said, device, "notices", "Notices", $"{topic}/notices", "{{ value_json.count }}", []);
        return said;
    }

    private JsonObject Device(string name) => new()
    {
        ["identifiers"] = new JsonArray($"cashevents-{household}"),
        ["name"] = name,
        ["manufacturer"] = "CashEvents",
        ["sw_version"] = ProgramVersion.Text,
    };

    private static string Joined(JsonElement of, JsonElement today, string first, string second, string third,
        (string Name, string Value) more)
    {
        var fields = of.EnumerateObject()
            .Concat(today.EnumerateObject().Where(f => f.Name == first || f.Name == second || f.Name == third))
            .Select(field => $"{JsonSerializer.Serialize(field.Name)}:{field.Value.GetRawText()}")
            .Append($"{JsonSerializer.Serialize(more.Name)}:{JsonSerializer.Serialize(more.Value, _plain)}");
        return $"{{{string.Join(',', fields)}}}";
    }

    private void Announce(Dictionary<string, string> said, JsonObject device, string id, string name, string from,
        string field, string currency) => Announce(said, device, id, name, from, $"{{{{ value_json.{field} }}}}",
            new JsonObject { ["device_class"] = "monetary", ["unit_of_measurement"] = currency });

    private void AnnounceDay(Dictionary<string, string> said, JsonObject device, string id, string name, string from,
        string field) => Announce(said, device, id, name, from, $"{{{{ value_json.{field} | default('') }}}}",
            new JsonObject { ["device_class"] = "date" });

    // A device's parts are told one by one, each in a retained message with all that a hub has to know of it.
    private void Announce(Dictionary<string, string> said, JsonObject device, string id, string name, string from,
        string template, JsonObject about)
    {
        if (discovery.Length == 0)
        {
            return;
        }

        about["name"] = name;
        about["unique_id"] = $"cashevents-{household}-{id}";
        about["state_topic"] = from;
        about["value_template"] = template;
        about["availability_topic"] = Status;
        about["device"] = device.DeepClone();
        said[$"{discovery}/sensor/cashevents-{household}/{id}/config"] = about.ToJsonString(_plain);
    }
}
