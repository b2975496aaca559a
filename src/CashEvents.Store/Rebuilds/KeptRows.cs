using System.Buffers;
using System.Buffers.Binary;
using System.Text;
using CashEvents.Domain.Books;
using CashEvents.Store.Books;
using CashEvents.Store.Lines;
using Npgsql;

namespace CashEvents.Store.Rebuilds;

/// <summary>
/// Tells whether the rows that are kept of a range of lines are those that the lines give, byte by byte: PostgreSQL sends them in its binary COPY format,
/// and the same is written here of what the lines give. Nothing is parsed, and rows are only looked at one by one where the two differ.
/// </summary>
internal sealed class KeptRows : IDisposable
{
    private const short EndOfRows = -1;
    private const int Missing = -1;

    // PostgreSQL counts days from here.
    private static readonly int _firstDay = new DateOnly(2000, 1, 1).DayNumber;

    // "PGCOPY", the bytes that tell whether a line end was changed on the way, no flags, no header extension.
    private static readonly byte[] _header = [.. "PGCOPY\n"u8, 0xFF, (byte)'\r', (byte)'\n', 0, 0, 0, 0, 0, 0, 0, 0, 0];

    private readonly ArrayBufferWriter<byte> _lines = new();
    private readonly ArrayBufferWriter<byte> _sheets = new();
    private byte[] _kept = ArrayPool<byte>.Shared.Rent(1 << 20);

    /// <summary>Whether what is kept of a range is what its lines give.</summary>
    public async Task<bool> AreOfAsync(NpgsqlConnection connection, string household, IReadOnlyList<BookLine> lines, long after, long upTo, CancellationToken cancellation)
    {
        Write(lines);
        var range = string.Create(null, $"tenant_id = '{household.Replace("'", "''", StringComparison.Ordinal)}' and line > {after} and line <= {upTo}");
        return await AreSentAsync(connection, $"select line, kind, written_by, occurred_on, corrects from {BookTables.Schema}.line where {range} order by line", _lines, cancellation).ConfigureAwait(false)
            && await AreSentAsync(connection, $"""
                select line, leg, compartment, kind, holding, amount, occurred_on, description from {BookTables.Schema}.tracker_row
                where {range} order by line, leg, compartment collate "C"
                """, _sheets, cancellation).ConfigureAwait(false);
    }

    public void Dispose() => ArrayPool<byte>.Shared.Return(_kept);

    private async Task<bool> AreSentAsync(NpgsqlConnection connection, string select, ArrayBufferWriter<byte> made, CancellationToken cancellation)
    {
        if (_kept.Length <= made.WrittenCount)
        {
            ArrayPool<byte>.Shared.Return(_kept);
            _kept = ArrayPool<byte>.Shared.Rent(made.WrittenCount + 1);
        }

        await using var sent = await connection.BeginRawBinaryCopyAsync($"copy ({select}) to stdout (format binary)", cancellation).ConfigureAwait(false);
        // One byte more than should come tells that more does.
        var length = await sent.ReadAtLeastAsync(_kept.AsMemory(0, made.WrittenCount + 1), made.WrittenCount + 1, throwOnEndOfStream: false, cancellation).ConfigureAwait(false);
        if (length == made.WrittenCount && _kept.AsSpan(0, length).SequenceEqual(made.WrittenSpan))
        {
            return true;
        }

        await sent.CancelAsync().ConfigureAwait(false);
        return false;
    }

    private void Write(IReadOnlyList<BookLine> lines)
    {
        Begin(_lines);
        Begin(_sheets);
        foreach (var line in lines)
        {
            Short(_lines, 5);
            Field(_lines, line.Number);
            Field(_lines, line.Kind);
            Field(_lines, line.By);
            Field(_lines, (line.Event as IDatedEvent)?.OccurredOn);
            Field(_lines, (line.Event as IMovement)?.Corrects?.Line);

            // In the order of line, leg and compartment: what moves nothing may be about several compartments.
            var rows = SheetRow.Of(line.Number, line.Event);
            foreach (var row in line.Event is IMovement ? rows : rows.OrderBy(r => r.Compartment, StringComparer.Ordinal))
            {
                Short(_sheets, 8);
                Field(_sheets, row.Line);
                Int(_sheets, sizeof(short));
                Short(_sheets, row.Leg);
                Field(_sheets, row.Compartment);
                Field(_sheets, row.Kind);
                Field(_sheets, row.Holding);
                Field(_sheets, row.Amount);
                Field(_sheets, row.OccurredOn);
                Field(_sheets, row.Description);
            }
        }

        Short(_lines, EndOfRows);
        Short(_sheets, EndOfRows);
    }

    private static void Begin(ArrayBufferWriter<byte> made)
    {
        made.ResetWrittenCount();
        made.Write(_header);
    }

    private static void Field(ArrayBufferWriter<byte> made, long? number)
    {
        if (number is not { } written)
        {
            Int(made, Missing);
            return;
        }

        Int(made, sizeof(long));
        BinaryPrimitives.WriteInt64BigEndian(made.GetSpan(sizeof(long)), written);
        made.Advance(sizeof(long));
    }

    private static void Field(ArrayBufferWriter<byte> made, DateOnly? day)
    {
        if (day is not { } written)
        {
            Int(made, Missing);
            return;
        }

        Int(made, sizeof(int));
        Int(made, written.DayNumber - _firstDay);
    }

    private static void Field(ArrayBufferWriter<byte> made, string? words)
    {
        if (words is null)
        {
            Int(made, Missing);
            return;
        }

        var room = made.GetSpan(sizeof(int) + Encoding.UTF8.GetMaxByteCount(words.Length));
        var length = Encoding.UTF8.GetBytes(words, room[sizeof(int)..]);
        BinaryPrimitives.WriteInt32BigEndian(room, length);
        made.Advance(sizeof(int) + length);
    }

    private static void Int(ArrayBufferWriter<byte> made, int number)
    {
        BinaryPrimitives.WriteInt32BigEndian(made.GetSpan(sizeof(int)), number);
        made.Advance(sizeof(int));
    }

    private static void Short(ArrayBufferWriter<byte> made, short number)
    {
        BinaryPrimitives.WriteInt16BigEndian(made.GetSpan(sizeof(short)), number);
        made.Advance(sizeof(short));
    }
}
