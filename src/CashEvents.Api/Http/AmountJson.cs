using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.RegularExpressions;

namespace CashEvents.Api.Http;

/// <summary>Amounts and other decimals: a JSON number such as 9.60, or the same as text, for programs that keep money as text. Nothing is guessed: a decimal comma is refused with the mend.</summary>
internal sealed partial class AmountJson : JsonConverter<decimal>
{
    public override decimal Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (reader.TokenType == JsonTokenType.Number)
        {
            return reader.TryGetDecimal(out var number) ? number : throw new JsonException();
        }

        var written = reader.TokenType == JsonTokenType.String ? reader.GetString()! : throw new JsonException();
        return Plain().IsMatch(written) && decimal.TryParse(written, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var amount) ? amount
            : WithComma().IsMatch(written) ? throw new UnreadableAmountException($"is written with a comma, \"{written}\": write {written.Replace(',', '.')}, with a point.")
            : throw new JsonException();
    }

    public override void Write(Utf8JsonWriter writer, decimal value, JsonSerializerOptions options) => writer.WriteNumberValue(value);

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
