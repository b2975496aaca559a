using System.Buffers;
using System.Buffers.Text;
using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace CashEvents.Store.Rebuilds;

/// <summary>A short stand-in for the rows that the lines give, made as PostgreSQL makes it of the rows that are kept: fields and rows as text between separators that no text has.</summary>
internal static class Fingerprint
{
    private const int Handful = 16 * 1024;
    private const byte Nothing = 26;
    private const byte BetweenRows = 30;
    private const byte BetweenFields = 31;

    /// <summary>The fingerprint of rows that are in the order of their table's keys, numbers before words.</summary>
    [SuppressMessage("Security", "CA5351:Do Not Use Broken Cryptographic Algorithms", Justification = "It tells whether two lists are the same, not whether somebody meant harm; that is what the chain of hashes is for. PostgreSQL has no quicker one.")]
    [SuppressMessage("Globalization", "CA1308:Normalize strings to uppercase", Justification = "PostgreSQL writes hexadecimal small.")]
    public static string Of(RebuiltRows rows)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.MD5);
        var text = new ArrayBufferWriter<byte>(Handful);
        var fields = rows.Values.Select(Field).ToArray();
        for (var row = 0; row < rows.Values[0].Length; row++)
        {
            for (var field = 0; field < fields.Length; field++)
            {
                if (field > 0 || row > 0)
                {
                    Write(text, field > 0 ? BetweenFields : BetweenRows);
                }

                fields[field](text, row);
            }

            if (text.FreeCapacity < Handful / 4)
            {
                hash.AppendData(text.WrittenSpan);
                text.ResetWrittenCount();
            }
        }

        hash.AppendData(text.WrittenSpan);
        return Convert.ToHexString(hash.GetHashAndReset()).ToLowerInvariant();
    }

    private static Action<ArrayBufferWriter<byte>, int> Field(Array values) => values switch
    {
        long[] numbers => (text, row) => Write(text, numbers[row]),
        short[] numbers => (text, row) => Write(text, numbers[row]),
        long?[] numbers => (text, row) => Write(text, numbers[row]),
        string?[] words => (text, row) => Write(text, words[row]),
        DateOnly?[] days => (text, row) => Write(text, days[row]),
        _ => throw new ArgumentException($"No field is known that holds {values.GetType().GetElementType()}.", nameof(values)),
    };

    private static void Write(ArrayBufferWriter<byte> text, byte sign)
    {
        text.GetSpan(1)[0] = sign;
        text.Advance(1);
    }

    private static void Write(ArrayBufferWriter<byte> text, long? number)
    {
        if (number is not { } written)
        {
            Write(text, Nothing);
            return;
        }

        Utf8Formatter.TryFormat(written, text.GetSpan(20), out var length);
        text.Advance(length);
    }

    private static void Write(ArrayBufferWriter<byte> text, string? words)
    {
        if (words is null)
        {
            Write(text, Nothing);
            return;
        }

        Encoding.UTF8.GetBytes(words, text);
    }

    private static void Write(ArrayBufferWriter<byte> text, DateOnly? day)
    {
        if (day is not { } written)
        {
            Write(text, Nothing);
            return;
        }

        written.TryFormat(text.GetSpan(10), out var length, "yyyy-MM-dd", CultureInfo.InvariantCulture);
        text.Advance(length);
    }
}
