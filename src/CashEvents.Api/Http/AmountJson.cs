using System.Buffers;
using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.RegularExpressions;

namespace CashEvents.Api.Http;

/// <summary>
/// Amounts and other decimals: a JSON number such as 9.60, or the same as text, for programs that keep money as text.
/// Nothing is guessed: a decimal comma is refused with the mend.
/// </summary>
internal sealed partial class AmountJson : JsonConverter<decimal>
{
    private const int MostDigits = 28;

    // A figure with more digits than a decimal keeps is rounded when it is read. With this it has a decimal too many
    // still, and is refused as one that has.
    private const decimal SmallestPart = 0.0000000000000000000000000001m;

    public override decimal Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (reader.TokenType == JsonTokenType.Number)
        {
            var text = Encoding.ASCII.GetString(reader.HasValueSequence
                ? reader.ValueSequence.ToArray()
                : reader.ValueSpan);
            return !reader.TryGetDecimal(out var number) ? throw new JsonException()
                : number != 0m && Digits(text) > MostDigits ? number + SmallestPart
                : number;
        }

        var written = reader.TokenType == JsonTokenType.String ? reader.GetString()! : throw new JsonException();
        return Plain().IsMatch(written)
            && decimal.TryParse(written, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint,
                CultureInfo.InvariantCulture, out var amount) ? amount
            : WithComma().IsMatch(written)
                ? throw new UnreadableAmountException($"is written with a comma, \"{written}\": write "
                    + $"{written.Replace(',', '.')}, with a point.")
            : throw new JsonException();
    }

    // Those that count: without zeros before the first and after the last of a fraction.
    private static int Digits(string number)
    {
        var figures = number.Split('e', 'E')[0].TrimStart('-');
        return (figures.Contains('.', StringComparison.Ordinal) ? figures.TrimEnd('0') : figures)
            .Replace(".", "", StringComparison.Ordinal).TrimStart('0').Length;
    }

    public override void Write(Utf8JsonWriter writer, decimal value, JsonSerializerOptions options) =>
        writer.WriteNumberValue(value);

    // No more digits than a decimal keeps, so that none is lost in silence.
    [GeneratedRegex(@"^-?[0-9]{1,14}(\.[0-9]{1,14})?\z")]
    private static partial Regex Plain();

    // One or two digits behind the only comma can't be thousands.
    [GeneratedRegex(@"^-?[0-9]{1,14},[0-9]{1,2}\z")]
    private static partial Regex WithComma();
}

/// <summary>An amount that can be told from how it is written, but not taken.</summary>
/// <param name="mend">What it is and how to write it, to follow the field's name.</param>
internal sealed class UnreadableAmountException(string mend) : JsonException(mend);
