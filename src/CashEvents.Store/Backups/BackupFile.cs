using System.Globalization;
using System.IO.Compression;
using System.Runtime.CompilerServices;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;

namespace CashEvents.Store.Backups;

/// <summary>Reads and writes the records of a backup, with a sum over all of them at its end.</summary>
internal static class BackupFile
{
    /// <summary>Writes records, one a line, while they are summed up.</summary>
    public sealed class Writer(Stream file) : IAsyncDisposable
    {
        private readonly GZipStream _compressed = new(file, CompressionLevel.Fastest, leaveOpen: true);
        private readonly IncrementalHash _sum = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        private readonly MemoryStream _some = new();
        private int _books;
        private long _lines;

        public async Task WriteAsync(BackupRecord record, CancellationToken cancellation)
        {
            _books += record is BackedUpBook ? 1 : 0;
            _lines += record is BackedUpLine ? 1 : 0;
            JsonSerializer.Serialize(_some, record, BackupRecord.Options);
            _some.WriteByte((byte)'\n');
            if (_some.Length > 1 << 16)
            {
                await PassOnAsync(cancellation).ConfigureAwait(false);
            }
        }

        /// <summary>Ends it: what has no end was broken off.</summary>
        public async Task EndAsync(CancellationToken cancellation)
        {
            await PassOnAsync(cancellation).ConfigureAwait(false);
            await WriteAsync(new BackupEnds(_books, _lines, Hex(_sum)), cancellation).ConfigureAwait(false);
            await PassOnAsync(cancellation).ConfigureAwait(false);
            await _compressed.FlushAsync(cancellation).ConfigureAwait(false);
        }

        public async ValueTask DisposeAsync()
        {
            await _compressed.DisposeAsync().ConfigureAwait(false);
            await _some.DisposeAsync().ConfigureAwait(false);
            _sum.Dispose();
        }

        private async Task PassOnAsync(CancellationToken cancellation)
        {
            var some = _some.GetBuffer().AsMemory(0, (int)_some.Length);
            _sum.AppendData(some.Span);
            await _compressed.WriteAsync(some, cancellation).ConfigureAwait(false);
            _some.SetLength(0);
        }
    }

    /// <summary>The records of a file up to its end, which is checked.</summary>
    /// <exception cref="BackupException">It is no backup, of a newer form, broken off or changed.</exception>
    public static async IAsyncEnumerable<BackupRecord> ReadAsync(Stream file,
        [EnumeratorCancellation] CancellationToken cancellation)
    {
        await using var plain = new GZipStream(file, CompressionMode.Decompress, leaveOpen: true);
        using var text = new StreamReader(plain, Encoding.UTF8);
        using var sum = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var (number, books, lines) = (0L, 0, 0L);
        while (await NextAsync(text, ++number, cancellation).ConfigureAwait(false) is var (written, record))
        {
            if (number == 1)
            {
                MustBegin(record);
            }

            if (record is BackupEnds end)
            {
                if (end.Books != books || end.Lines != lines || end.Sha256 != Hex(sum))
                {
                    throw new BackupException("The file is not as it was written: what stands at its end does not "
                        + "agree with the rest. Take another backup.");
                }

                // The compression has a sum of its own behind the last record.
                if (await NextAsync(text, number + 1, cancellation).ConfigureAwait(false) is not null)
                {
                    throw new BackupException("The file goes on after its end: it was changed. Take another backup.");
                }

                yield break;
            }

            sum.AppendData(Encoding.UTF8.GetBytes(written + "\n"));
            books += record is BackedUpBook ? 1 : 0;
            lines += record is BackedUpLine ? 1 : 0;
            yield return record;
        }

        throw new BackupException("The file is broken off: it has no end. Take another backup.");
    }

    private static async Task<(string Written, BackupRecord Record)?> NextAsync(StreamReader text, long number,
        CancellationToken cancellation)
    {
        try
        {
            return await text.ReadLineAsync(cancellation).ConfigureAwait(false) is { } written
                ? (written, JsonSerializer.Deserialize<BackupRecord>(written, BackupRecord.Options)!)
                : null;
        }
        catch (Exception failure) when (failure is JsonException or InvalidDataException or NotSupportedException)
        {
            throw new BackupException(number == 1
                ? "This is no backup of CashEvents."
                : string.Create(CultureInfo.InvariantCulture,
                    $"The file can't be read any further at its line {number}: it was broken off or changed. Take "
                        + $"another backup."), failure);
        }
    }

    private static void MustBegin(BackupRecord record)
    {
        if (record is not BackupBegins begins)
        {
            throw new BackupException("This is no backup of CashEvents.");
        }

        if (begins.Version > BackupBegins.Newest)
        {
            throw new BackupException($"This backup was made by CashEvents {begins.Program} in a newer form: take that "
                + "version or a later one.");
        }
    }

    private static string Hex(IncrementalHash sum) => Convert.ToHexStringLower(sum.GetCurrentHash());
}
