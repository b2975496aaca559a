using System.Buffers;
using System.Globalization;
using System.IO.Compression;
using System.IO.Pipelines;
using System.Runtime.CompilerServices;
using System.Security.Cryptography;
using System.Text.Json;

namespace CashEvents.Store.Backups;

/// <summary>Reads and writes the records of a backup, with a sum over all of them at its end.</summary>
internal static class BackupFile
{
    /// <summary>Writes records, one a line; what is written is summed up and compressed while more comes.</summary>
    public sealed class Writer(Stream file) : IAsyncDisposable
    {
        private const int Some = 1 << 16;

        private readonly GZipStream _compressed = new(file, CompressionLevel.Fastest, leaveOpen: true);
        private readonly IncrementalHash _sum = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        private MemoryStream _next = new();
        private MemoryStream _passedOn = new();
        private Task _passing = Task.CompletedTask;
        private int _books;
        private long _lines;

        public async Task WriteAsync(BackupRecord record, CancellationToken cancellation)
        {
            _books += record is BackedUpBook ? 1 : 0;
            _lines += record is BackedUpLine ? 1 : 0;
            JsonSerializer.Serialize(_next, record, BackupRecord.Options);
            _next.WriteByte((byte)'\n');
            if (_next.Length > Some)
            {
                await PassOnAsync(cancellation).ConfigureAwait(false);
            }
        }

        /// <summary>Ends it: what has no end was broken off.</summary>
        public async Task EndAsync(CancellationToken cancellation)
        {
            await PassOnAsync(cancellation).ConfigureAwait(false);
            await _passing.ConfigureAwait(false);
            await WriteAsync(new BackupEnds(_books, _lines, Hex(_sum)), cancellation).ConfigureAwait(false);
            await PassOnAsync(cancellation).ConfigureAwait(false);
            await _passing.ConfigureAwait(false);
            await _compressed.FlushAsync(cancellation).ConfigureAwait(false);
        }

        public async ValueTask DisposeAsync()
        {
            await _passing.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            await _compressed.DisposeAsync().ConfigureAwait(false);
            await _next.DisposeAsync().ConfigureAwait(false);
            await _passedOn.DisposeAsync().ConfigureAwait(false);
            _sum.Dispose();
        }

        private async Task PassOnAsync(CancellationToken cancellation)
        {
            await _passing.ConfigureAwait(false);
            (_next, _passedOn) = (_passedOn, _next);
            _next.SetLength(0);
            var some = _passedOn.GetBuffer().AsMemory(0, (int)_passedOn.Length);
            _passing = Task.Run(async () =>
            {
                _sum.AppendData(some.Span);
                await _compressed.WriteAsync(some, cancellation).ConfigureAwait(false);
            }, cancellation);
        }
    }

    /// <summary>The records of a file up to its end, which is checked.</summary>
    /// <exception cref="BackupException">It is no backup, of a newer form, broken off or changed.</exception>
    public static async IAsyncEnumerable<BackupRecord> ReadAsync(Stream file,
        [EnumeratorCancellation] CancellationToken cancellation)
    {
        await using var plain = new GZipStream(file, CompressionMode.Decompress, leaveOpen: true);
        var text = PipeReader.Create(plain, new StreamPipeReaderOptions(bufferSize: 1 << 16));
        using var sum = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var (number, books, lines) = (0L, 0, 0L);
        BackupEnds? end = null;
        for (var more = true; more;)
        {
            var read = await ReadAsync(text, number + 1, cancellation).ConfigureAwait(false);
            var rest = read.Buffer;
            while (Next(ref rest, read.IsCompleted) is { } written)
            {
                // The compression has a sum of its own behind the last record.
                if (end is not null)
                {
                    throw new BackupException("The file goes on after its end: it was changed. Take another backup.");
                }

                var record = Record(written, ++number);
                if (number == 1)
                {
                    MustBegin(record);
                }

                if (record is BackupEnds last)
                {
                    MustAgree(last, books, lines, sum);
                    end = last;
                    continue;
                }

                Add(sum, written);
                books += record is BackedUpBook ? 1 : 0;
                lines += record is BackedUpLine ? 1 : 0;
                yield return record;
            }

            text.AdvanceTo(rest.Start, rest.End);
            more = !read.IsCompleted;
        }

        if (end is null)
        {
            throw new BackupException("The file is broken off: it has no end. Take another backup.");
        }
    }

    private static async Task<ReadResult> ReadAsync(PipeReader text, long number, CancellationToken cancellation)
    {
        try
        {
            return await text.ReadAsync(cancellation).ConfigureAwait(false);
        }
        catch (InvalidDataException failure)
        {
            throw Unreadable(number, failure);
        }
    }

    // The next line without its end, which the last one may lack.
    private static ReadOnlySequence<byte>? Next(ref ReadOnlySequence<byte> rest, bool isLast)
    {
        var reader = new SequenceReader<byte>(rest);
        if (reader.TryReadTo(out ReadOnlySequence<byte> line, (byte)'\n'))
        {
            rest = reader.UnreadSequence;
            return line;
        }

        if (!isLast || rest.IsEmpty)
        {
            return null;
        }

        line = rest;
        rest = rest.Slice(rest.End);
        return line;
    }

    private static BackupRecord Record(in ReadOnlySequence<byte> written, long number)
    {
        try
        {
            var json = new Utf8JsonReader(written);
            var record = JsonSerializer.Deserialize<BackupRecord>(ref json, BackupRecord.Options);
            return record is not null && !json.Read() ? record : throw Unreadable(number);
        }
        catch (Exception failure) when (failure is JsonException or NotSupportedException)
        {
            throw Unreadable(number, failure);
        }
    }

    private static void Add(IncrementalHash sum, in ReadOnlySequence<byte> written)
    {
        foreach (var part in written)
        {
            sum.AppendData(part.Span);
        }

        sum.AppendData("\n"u8);
    }

    private static BackupException Unreadable(long number, Exception? failure = null)
    {
        var message = number == 1
            ? "This is no backup of CashEvents."
            : string.Create(CultureInfo.InvariantCulture,
                $"The file can't be read any further at its line {number}: it was broken off or changed. Take "
                    + $"another backup.");
        return failure is null ? new BackupException(message) : new BackupException(message, failure);
    }

    private static void MustAgree(BackupEnds end, int books, long lines, IncrementalHash sum)
    {
        if (end.Books != books || end.Lines != lines || end.Sha256 != Hex(sum))
        {
            throw new BackupException("The file is not as it was written: what stands at its end does not agree with "
                + "the rest. Take another backup.");
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
