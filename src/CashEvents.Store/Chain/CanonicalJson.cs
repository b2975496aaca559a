using System.Buffers;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json;

namespace CashEvents.Store.Chain;

/// <summary>
/// The one way of writing JSON that RFC 8785 gives (JSON Canonicalization Scheme), so that the same content always has
/// the same hash.
/// </summary>
public static class CanonicalJson
{
    /// <summary>
    /// The largest whole number up to which a binary fraction holds every one: 2^53. RFC 8785 reads all numbers as
    /// such.
    /// </summary>
    private const long MostExact = 1L << 53;

    private static readonly JsonDocumentOptions NoNameTwice = new() { AllowDuplicateProperties = false };

    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    // What stands between quotes as it is: printable ASCII but the quote and the backslash.
    private static readonly SearchValues<byte> _plain = SearchValues.Create(
        [.. Enumerable.Range(' ', '~' - ' ' + 1).Select(unit => (byte)unit).Except([(byte)'"', (byte)'\\'])]);

    /// <summary>JSON in its canonical form, as UTF-8.</summary>
    /// <param name="json">Any JSON text in UTF-8.</param>
    /// <exception cref="JsonException">It is not JSON, or not such as I-JSON (RFC 7493) allows: a name stands twice,
    /// half a surrogate pair stands alone, or a number is beyond binary64.</exception>
    public static byte[] Of(ReadOnlyMemory<byte> json)
    {
        var text = new ArrayBufferWriter<byte>(Math.Max(1, json.Length));
        Write(json, text);
        return text.WrittenSpan.ToArray();
    }

    /// <summary>Writes JSON in its canonical form.</summary>
    /// <inheritdoc cref="Of" path="/exception"/>
    internal static void Write(ReadOnlyMemory<byte> json, IBufferWriter<byte> text)
    {
        try
        {
            using var document = JsonDocument.Parse(json, NoNameTwice);
            Write(document.RootElement, text);
        }
        catch (InvalidOperationException broken)
        {
            throw new JsonException("A string has half a surrogate pair or is not UTF-8.", broken);
        }
    }

    /// <summary>
    /// Writes a string in its canonical form. Section 3.2.2.2: the short escapes where there are any, \u00xx for other
    /// controls, everything else as it is.
    /// </summary>
    internal static void WriteString(string value, IBufferWriter<byte> text)
    {
        var escaped = new StringBuilder(value.Length + 2).Append('"');
        foreach (var unit in value)
        {
            _ = unit switch
            {
                '"' => escaped.Append("\\\""),
                '\\' => escaped.Append("\\\\"),
                '\b' => escaped.Append("\\b"),
                '\f' => escaped.Append("\\f"),
                '\n' => escaped.Append("\\n"),
                '\r' => escaped.Append("\\r"),
                '\t' => escaped.Append("\\t"),
                < ' ' => escaped.Append(CultureInfo.InvariantCulture, $"\\u{(int)unit:x4}"),
                _ => escaped.Append(unit),
            };
        }

        text.Write(Utf8.GetBytes(escaped.Append('"').ToString()));
    }

    /// <summary>Writes a whole number that binary64 holds.</summary>
    internal static void WriteNumber(long value, IBufferWriter<byte> text)
    {
        const int mostDigits = 20;
        value.TryFormat(text.GetSpan(mostDigits), out var written, provider: CultureInfo.InvariantCulture);
        text.Advance(written);
    }

    private static void Write(JsonElement element, IBufferWriter<byte> text)
    {
        switch (element.ValueKind)
        {
            case JsonValueKind.Object:
                WriteObject(element, text);
                break;
            case JsonValueKind.Array:
                text.Write("["u8);
                var separator = ""u8;
                foreach (var item in element.EnumerateArray())
                {
                    text.Write(separator);
                    Write(item, text);
                    separator = ","u8;
                }

                text.Write("]"u8);
                break;
            case JsonValueKind.String:
                WriteString(element, text);
                break;
            case JsonValueKind.Number:
                WriteNumber(element, text);
                break;
            default:
                text.Write(JsonMarshal.GetRawUtf8Value(element));
                break;
        }
    }

    private static void WriteObject(JsonElement element, IBufferWriter<byte> text)
    {
        var names = new string[element.GetPropertyCount()];
        var values = new JsonElement[names.Length];
        var i = 0;
        foreach (var property in element.EnumerateObject())
        {
            (names[i], values[i]) = (property.Name, property.Value);
            i++;
        }

        // Ordinal compares UTF-16 code units, as section 3.2.3 asks.
        Array.Sort(names, values, StringComparer.Ordinal);
        text.Write("{"u8);
        for (i = 0; i < names.Length; i++)
        {
            if (i > 0)
            {
                text.Write(","u8);
            }

            WriteString(names[i], text);
            text.Write(":"u8);
            Write(values[i], text);
        }

        text.Write("}"u8);
    }

    // Most are written already as they are to be.
    private static void WriteString(JsonElement element, IBufferWriter<byte> text)
    {
        var raw = JsonMarshal.GetRawUtf8Value(element);
        if (raw[1..^1].ContainsAnyExcept(_plain))
        {
            WriteString(element.GetString()!, text);
        }
        else
        {
            text.Write(raw);
        }
    }

    private static void WriteNumber(JsonElement number, IBufferWriter<byte> text)
    {
        if (number.TryGetInt64(out var whole) && whole is >= -MostExact and <= MostExact)
        {
            WriteNumber(whole, text);
        }
        else
        {
            text.Write(Utf8.GetBytes(Number(number.GetDouble())));
        }
    }

    /// <summary>Section 3.2.2.3: a number as ECMAScript's Number::toString writes it.</summary>
    /// <exception cref="JsonException">It is infinite or not a number.</exception>
    internal static string Number(double value)
    {
        if (!double.IsFinite(value))
        {
            throw new JsonException("A number is beyond binary64.");
        }

        if (value == 0)
        {
            return "0";
        }

        // The framework finds the shortest digits that read back as the same number; ECMAScript only lays them out
        // otherwise.
        var written = Math.Abs(value).ToString("R", CultureInfo.InvariantCulture).Split('E');
        var point = written[0].IndexOf('.', StringComparison.Ordinal) is >= 0 and var at ? at : written[0].Length;
        var all = written[0].Replace(".", "", StringComparison.Ordinal);
        var significant = all.TrimStart('0');
        var magnitude = point - (all.Length - significant.Length)
            + (written.Length > 1 ? int.Parse(written[1], CultureInfo.InvariantCulture) : 0);
        return (value < 0 ? "-" : "") + LayOut(significant.TrimEnd('0'), magnitude);
    }

    /// <summary>Lays out 0.<paramref name="digits"/> times ten to the power of <paramref name="magnitude"/>.</summary>
    private static string LayOut(string digits, int magnitude) => magnitude switch
    {
        > 0 and <= 21 when digits.Length <= magnitude => digits.PadRight(magnitude, '0'),
        > 0 and <= 21 => $"{digits[..magnitude]}.{digits[magnitude..]}",
        > -6 and <= 0 => $"0.{new string('0', -magnitude)}{digits}",
        _ => string.Create(CultureInfo.InvariantCulture,
            $"{digits[0]}{(digits.Length > 1 ? "." : "")}{digits[1..]}e{(magnitude > 0 ? "+" : "")}{magnitude - 1}"),
    };
}
