using System.Globalization;
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

    /// <summary>JSON in its canonical form, as UTF-8.</summary>
    /// <param name="json">Any JSON text in UTF-8.</param>
    /// <exception cref="JsonException">It is not JSON, or not such as I-JSON (RFC 7493) allows: a name stands twice,
    /// half a surrogate pair stands alone, or a number is beyond binary64.</exception>
    public static byte[] Of(ReadOnlyMemory<byte> json)
    {
        try
        {
            using var document = JsonDocument.Parse(json, NoNameTwice);
            var text = new StringBuilder(json.Length);
            Write(document.RootElement, text);
            return Utf8.GetBytes(text.ToString());
        }
        catch (InvalidOperationException broken)
        {
            throw new JsonException("A string has half a surrogate pair or is not UTF-8.", broken);
        }
    }

    private static void Write(JsonElement element, StringBuilder text)
    {
        switch (element.ValueKind)
        {
            case JsonValueKind.Object:
                WriteObject(element, text);
                break;
            case JsonValueKind.Array:
                text.Append('[');
                var separator = "";
                foreach (var item in element.EnumerateArray())
                {
                    text.Append(separator);
                    Write(item, text);
                    separator = ",";
                }

                text.Append(']');
                break;
            case JsonValueKind.String:
                WriteString(element.GetString()!, text);
                break;
            case JsonValueKind.Number:
                WriteNumber(element, text);
                break;
            default:
                text.Append(element.GetRawText());
                break;
        }
    }

    private static void WriteObject(JsonElement element, StringBuilder text)
    {
        text.Append('{');
        var separator = "";
        // Ordinal compares UTF-16 code units, as section 3.2.3 asks.
        foreach (var property in element.EnumerateObject().OrderBy(p => p.Name, StringComparer.Ordinal))
        {
            text.Append(separator);
            WriteString(property.Name, text);
            text.Append(':');
            Write(property.Value, text);
            separator = ",";
        }

        text.Append('}');
    }

    /// <summary>
    /// Section 3.2.2.2: the short escapes where there are any, \u00xx for other controls, everything else as it is.
    /// </summary>
    private static void WriteString(string value, StringBuilder text)
    {
        text.Append('"');
        foreach (var unit in value)
        {
            _ = unit switch
            {
                '"' => text.Append("\\\""),
                '\\' => text.Append("\\\\"),
                '\b' => text.Append("\\b"),
                '\f' => text.Append("\\f"),
                '\n' => text.Append("\\n"),
                '\r' => text.Append("\\r"),
                '\t' => text.Append("\\t"),
                < ' ' => text.Append(CultureInfo.InvariantCulture, $"\\u{(int)unit:x4}"),
                _ => text.Append(unit),
            };
        }

        text.Append('"');
    }

    private static void WriteNumber(JsonElement number, StringBuilder text) =>
        _ = number.TryGetInt64(out var whole) && whole is >= -MostExact and <= MostExact
        ? text.Append(CultureInfo.InvariantCulture, $"{whole}")
        : text.Append(Number(number.GetDouble()));

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
