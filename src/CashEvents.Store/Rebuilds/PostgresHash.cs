using System.Buffers.Binary;
using System.Numerics;
using System.Text;

namespace CashEvents.Store.Rebuilds;

/// <summary>
/// PostgreSQL's extended hash functions of texts, numbers and records (src/common/hashfn.c and record_hash_extended of
/// its source, after Bob Jenkins' lookup3).
/// Tables partitioned by hash rest on them, so they stay the same from one version to the next. They tell rows apart,
/// and keep no secret.
/// </summary>
internal static class PostgresHash
{
    private const uint Start = 0x9e3779b9 + 3923095;
    private const int LongestRead = 12;
    private const int OnStack = 192;

    /// <summary>What <c>hashtextextended</c> makes of a text; 0 of a missing one, as records take it.</summary>
    public static ulong Text(string? text, ulong seed)
    {
        if (text is null)
        {
            return 0;
        }

        // Zeros after the text: the last words are read whole.
        var most = Encoding.UTF8.GetMaxByteCount(text.Length) + LongestRead;
        var bytes = most <= OnStack ? stackalloc byte[OnStack] : new byte[most];
        return Bytes(bytes, Encoding.UTF8.GetBytes(text, bytes), seed);
    }

    /// <summary>
    /// What <c>hashint8extended</c> makes of a number, and of a smaller type's the functions of those; 0 of a missing
    /// one.
    /// </summary>
    public static ulong Number(long? number, ulong seed) =>
        number is { } n ? Word((uint)n ^ (uint)((n >= 0 ? n : ~n) >> 32), seed) : 0;

    /// <summary>What is made of a date, which PostgreSQL counts from 2000-01-01; 0 of a missing one.</summary>
    public static ulong Day(DateOnly? day, ulong seed) =>
        day is { } d ? Word((uint)(d.DayNumber - _year2000), seed) : 0;

    /// <summary>What <c>hash_record_extended</c> makes of a record when one more field is taken in.</summary>
    /// <param name="record">Of the fields before; 0 at first.</param>
    /// <param name="field">Of the field.</param>
    public static ulong Record(ulong record, ulong field) => unchecked((record << 5) - record + field);

    private static readonly int _year2000 = new DateOnly(2000, 1, 1).DayNumber;

    private static ulong Bytes(ReadOnlySpan<byte> bytes, int length, ulong seed)
    {
        var (a, b, c) = Begin((uint)length, seed);
        while (length >= LongestRead)
        {
            a += BinaryPrimitives.ReadUInt32LittleEndian(bytes);
            b += BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]);
            c += BinaryPrimitives.ReadUInt32LittleEndian(bytes[8..]);
            Mix(ref a, ref b, ref c);
            bytes = bytes[LongestRead..];
            length -= LongestRead;
        }

        a += BinaryPrimitives.ReadUInt32LittleEndian(bytes);
        b += BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]);
        // The lowest byte is the length's.
        c += BinaryPrimitives.ReadUInt32LittleEndian(bytes[8..]) << 8;
        return End(a, b, c);
    }

    private static ulong Word(uint word, ulong seed)
    {
        var (a, b, c) = Begin(sizeof(uint), seed);
        return End(a + word, b, c);
    }

    private static (uint A, uint B, uint C) Begin(uint length, ulong seed)
    {
        var (a, b, c) = (Start + length, Start + length, Start + length);
        if (seed != 0)
        {
            a += (uint)(seed >> 32);
            b += (uint)seed;
            Mix(ref a, ref b, ref c);
        }

        return (a, b, c);
    }

    private static void Mix(ref uint a, ref uint b, ref uint c)
    {
        a = (a - c) ^ BitOperations.RotateLeft(c, 4);
        c += b;
        b = (b - a) ^ BitOperations.RotateLeft(a, 6);
        a += c;
        c = (c - b) ^ BitOperations.RotateLeft(b, 8);
        b += a;
        a = (a - c) ^ BitOperations.RotateLeft(c, 16);
        c += b;
        b = (b - a) ^ BitOperations.RotateLeft(a, 19);
        a += c;
        c = (c - b) ^ BitOperations.RotateLeft(b, 4);
        b += a;
    }

    private static ulong End(uint a, uint b, uint c)
    {
        c = (c ^ b) - BitOperations.RotateLeft(b, 14);
        a = (a ^ c) - BitOperations.RotateLeft(c, 11);
        b = (b ^ a) - BitOperations.RotateLeft(a, 25);
        c = (c ^ b) - BitOperations.RotateLeft(b, 16);
        a = (a ^ c) - BitOperations.RotateLeft(c, 4);
        b = (b ^ a) - BitOperations.RotateLeft(a, 14);
        c = (c ^ b) - BitOperations.RotateLeft(b, 24);
        return ((ulong)b << 32) | c;
    }
}
