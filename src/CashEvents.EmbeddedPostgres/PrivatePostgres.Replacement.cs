using System.Globalization;

namespace CashEvents.EmbeddedPostgres;

/// <summary>Another cluster in the place of this one, as after a move to a newer major version.</summary>
public sealed partial class PrivatePostgres
{
    private const string Next = Cluster + ".next";
    private const string NextPassword = "password.next";

    /// <summary>
    /// Stops the server for good and puts the cluster of another data folder in the place of its own, which is kept
    /// beside it. Wherever it is broken off, the next start finds one of the two whole.
    /// </summary>
    /// <param name="otherDataFolder">Whose cluster is taken out of it. It lies on the same disk, and its server is
    /// stopped.</param>
    /// <param name="cancellationToken">Gives up before anything is changed.</param>
    /// <returns>Where the cluster is kept that was in force.</returns>
    /// <exception cref="PrivatePostgresException">The server does not stop, or the folders can't be moved.</exception>
    public async Task<string> ReplaceAsync(string otherDataFolder, CancellationToken cancellationToken = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(otherDataFolder);
        var other = Path.Combine(otherDataFolder, "postgresql");
        if (Postmaster.Read(Path.Combine(other, Cluster)) is not null)
            throw new PrivatePostgresException($"The server on {other} is not stopped: nothing was changed.");

        await _stopping.CancelAsync().ConfigureAwait(false);
        await _watch.ConfigureAwait(false);
        await StopServerAsync(cancellationToken).ConfigureAwait(false);
        if (Postmaster.Read(ClusterFolder) is not null)
            throw new PrivatePostgresException($"The server on {_folder} did not stop: nothing was changed.");

        var kept = Path.Combine(_folder, string.Create(CultureInfo.InvariantCulture,
            $"{Cluster}-{Version.Major}-{_options.Clock.GetUtcNow():yyyyMMdd'T'HHmmss}"));
        try
        {
            if (File.Exists(Path.Combine(other, "password")))
                File.Move(Path.Combine(other, "password"), Path.Combine(_folder, NextPassword), overwrite: true);
            Directory.Move(Path.Combine(other, Cluster), Path.Combine(_folder, Next));
            await SyncAsync(cancellationToken).ConfigureAwait(false);
            Directory.Move(ClusterFolder, kept);
            await FinishReplacementAsync(CancellationToken.None).ConfigureAwait(false);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new PrivatePostgresException($"The clusters in {_folder} can't be exchanged: {e.Message}", e);
        }

        return kept;
    }

    /// <summary>
    /// Goes on with a replacement that was broken off: once the old cluster was set aside, the next is in force;
    /// before,
    /// it never was.
    /// </summary>
    private async Task FinishReplacementAsync(CancellationToken cancellationToken)
    {
        var next = Path.Combine(_folder, Next);
        if (!Directory.Exists(next))
            return;

        var password = Path.Combine(_folder, NextPassword);
        if (Directory.Exists(ClusterFolder))
        {
            Directory.Delete(next, recursive: true);
            File.Delete(password);
            return;
        }

        if (File.Exists(password))
            File.Move(password, PasswordFile, overwrite: true);
        Directory.Move(next, ClusterFolder);
        await SyncAsync(cancellationToken).ConfigureAwait(false);
    }

    private async Task SyncAsync(CancellationToken cancellationToken)
    {
        if (_options.Durable && !OperatingSystem.IsWindows())
            await RunAsUserAsync("sync", ["."], cancellationToken).ConfigureAwait(false);
    }
}
