using System.Buffers;
using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;

namespace CashEvents.Store.Chain;

/// <summary>
/// The hash that a line carries: SHA-256 over the hash of the line before it and the canonical JSON of what it says, so
/// that no line can be
/// changed, dropped, inserted or moved without every later hash telling. docs/events.md says exactly what is hashed.
/// </summary>
public static class LineHash
{
    /// <summary>Name of the event header that keeps it, in lower-case hexadecimal.</summary>
    public const string Header = "hash";

    // What is written of a line beside its content.
    private const int Usual = 256;

    /// <summary>What stands before the first line: 32 zero bytes.</summary>
    public static string BeforeFirst { get; } = new('0', 64);

    /// <summary>The hash of a line.</summary>
    /// <param name="previous">Hash of the line before it, 64 hexadecimal digits; <see cref="BeforeFirst"/> for line
    /// 1.</param>
    /// <param name="household">Tenant whose book it stands in.</param>
    /// <param name="line">Its number, from 1.</param>
    /// <param name="entryId">Number of the first line of its entry.</param>
    /// <param name="kind">Its kind, such as <c>spend</c>.</param>
    /// <param name="recordedAt">The instant at which it was written; whole microseconds.</param>
    /// <param name="by">Name of the key that wrote it.</param>
    /// <param name="content">The event as JSON in UTF-8, in any order and spacing.</param>
    /// <returns>64 lower-case hexadecimal digits.</returns>
    /// <exception cref="JsonException">The content is not such JSON as <see cref="CanonicalJson"/> takes.</exception>
    public static string Of(string previous, string household, long line, long entryId, string kind,
        DateTimeOffset recordedAt, string by, ReadOnlyMemory<byte> content) =>
        Convert.ToHexStringLower(SHA256.HashData(
            [.. Convert.FromHexString(previous),
                .. Canonical(household, line, entryId, kind, recordedAt, by, content).Span]));

    /// <summary>What is hashed of a line beside the hash before it.</summary>
    internal static ReadOnlyMemory<byte> Canonical(string household, long line, long entryId, string kind,
        DateTimeOffset recordedAt, string by, ReadOnlyMemory<byte> content)
    {
        // Each line of every book is hashed again and again: the names stand here in their canonical order.
        var json = new ArrayBufferWriter<byte>(Usual + content.Length);
        json.Write("{\"by\":"u8);
        CanonicalJson.WriteString(by, json);
        json.Write(",\"content\":"u8);
        CanonicalJson.Write(content, json);
        json.Write(",\"entryId\":"u8);
        CanonicalJson.WriteNumber(entryId, json);
        json.Write(",\"household\":"u8);
        CanonicalJson.WriteString(household, json);
        json.Write(",\"kind\":"u8);
        CanonicalJson.WriteString(kind, json);
        json.Write(",\"line\":"u8);
        CanonicalJson.WriteNumber(line, json);
        json.Write(",\"recordedAt\":"u8);
        CanonicalJson.WriteString(
            recordedAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'", CultureInfo.InvariantCulture), json);
        json.Write("}"u8);
        return json.WrittenMemory;
    }
}
