using System.Net;
using System.Net.NetworkInformation;
using Npgsql;

namespace CashEvents.Store.Writing;

/// <summary>The clock of the machine that the database runs on, when that is another one than the program's.</summary>
public sealed class DatabaseClock(NpgsqlDataSource database)
{
    // Containers of one machine have addresses of their own, and one clock: they share the mark of the machine's last
    // start.
    private const string BootId = "/proc/sys/kernel/random/boot_id";

    /// <summary>What it says; null when it is this machine's clock.</summary>
    public async Task<DateTimeOffset?> ReadAsync(CancellationToken cancellation = default)
    {
        await using var connection = await database.OpenConnectionAsync(cancellation).ConfigureAwait(false);
        IPAddress? address;
        DateTimeOffset says;
        await using (var command = new NpgsqlCommand("select inet_server_addr(), clock_timestamp()", connection))
        {
            await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
            await reader.ReadAsync(cancellation).ConfigureAwait(false);
            address = reader.IsDBNull(0) ? null : reader.GetFieldValue<IPAddress>(0);
            says = new DateTimeOffset(reader.GetDateTime(1));
        }

        return address is null || IsOurs(address)
            || await SharesOurStartAsync(connection, cancellation).ConfigureAwait(false) ? null : says;
    }

    private static bool IsOurs(IPAddress address) => IPAddress.IsLoopback(address)
        || NetworkInterface.GetAllNetworkInterfaces().SelectMany(i => i.GetIPProperties().UnicastAddresses)
            .Any(a => a.Address.Equals(address));

    private static async Task<bool> SharesOurStartAsync(NpgsqlConnection connection, CancellationToken cancellation)
    {
        if (!File.Exists(BootId))
        {
            return false;
        }

        try
        {
            await using var command = new NpgsqlCommand($"select pg_read_file('{BootId}')", connection);
            var theirs = await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false) as string;
            return theirs?.Trim() == (await File.ReadAllTextAsync(BootId, cancellation).ConfigureAwait(false)).Trim();
        }
        catch (PostgresException)
        {
            // Not every user may read that, nor has every system such a file.
            return false;
        }
    }
}
