using System.Text.Json;

namespace CashEvents.Cash.Naming;

/// <summary>A compartment or wallet that is in use.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Of a compartment: the wallet it is in.</param>
internal sealed record KnownName(string Id, string Label, string? Wallet = null);

/// <summary>
/// What was last heard of a household, for when its server can't be reached: what its compartments are called, and
/// where its day begins.
/// </summary>
/// <param name="Address">The server it was heard from.</param>
/// <param name="KeyMark">The key it was asked with.</param>
/// <param name="HeardAt">When.</param>
/// <param name="TimeZone">The IANA name of its time zone.</param>
/// <param name="Compartments">Those in use.</param>
/// <param name="Wallets">Those in use.</param>
internal sealed record KnownHousehold(string Address, string KeyMark, DateTimeOffset HeardAt, string TimeZone,
    IReadOnlyList<KnownName> Compartments, IReadOnlyList<KnownName> Wallets)
{
    /// <summary>Asks the server and remembers the answer.</summary>
    public static async Task<KnownHousehold> AskAsync(Surroundings around, Connection connection,
        CashEventsClient client, CancellationToken stop)
    {
        var today = await client.Api.Today.GetAsync(cancellationToken: stop).ConfigureAwait(false);
        var compartments = await client.Api.Compartments.GetAsync(cancellationToken: stop).ConfigureAwait(false);
        var wallets = await client.Api.Wallets.GetAsync(cancellationToken: stop).ConfigureAwait(false);
        var known = new KnownHousehold(connection.Address.ToString(), connection.KeyMark, around.Clock.GetUtcNow(),
            today!.TimeZone!,
            [.. compartments!.Compartments!.Where(c => c.Closed == false)
                .Select(c => new KnownName(c.Id!, c.Label!, c.Wallet))],
            [.. wallets!.Wallets!.Where(w => w.Closed == false).Select(w => new KnownName(w.Id!, w.Label!))]);
        PrivateFile.Write(FileOf(around), JsonSerializer.Serialize(known, JsonSerializerOptions.Web));
        return known;
    }

    /// <summary>What was last heard through this connection; null when nothing was.</summary>
    public static KnownHousehold? Remembered(Surroundings around, Connection connection)
    {
        try
        {
            var known = JsonSerializer.Deserialize<KnownHousehold>(File.ReadAllText(FileOf(around)),
                JsonSerializerOptions.Web);
            return known?.Address == connection.Address.ToString() && known.KeyMark == connection.KeyMark
                ? known : null;
        }
        catch (Exception unread) when (unread is IOException or JsonException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    /// <summary>
    /// The household's date; by this machine's time zone where that of the household is not known here.
    /// </summary>
    public static DateOnly DateAt(KnownHousehold? known, DateTimeOffset instant) => DateOnly.FromDateTime(
        (known is not null && TimeZoneInfo.TryFindSystemTimeZoneById(known.TimeZone, out var zone)
            ? TimeZoneInfo.ConvertTime(instant, zone) : instant.ToLocalTime()).DateTime);

    private static string FileOf(Surroundings around) => Path.Combine(around.StateFolder, "household.json");
}
