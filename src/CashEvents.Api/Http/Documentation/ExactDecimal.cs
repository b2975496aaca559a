using System.Globalization;
using Microsoft.OpenApi;

namespace CashEvents.Api.Http;

/// <summary>
/// How the document shows amounts and other decimals: as exact ones. Without the format a generated client would keep
/// them as binary fractions.
/// </summary>
internal static class ExactDecimal
{
    /// <summary>The format by which generators tell exact decimals (OpenAPI Format Registry).</summary>
    public const string Format = "decimal";

    /// <summary>The largest amount of the currency with the fewest decimals, which has none.</summary>
    public static string Largest { get; } = Money.Largest.Minor.ToString(CultureInfo.InvariantCulture);

    /// <summary>A decimal.</summary>
    public static OpenApiSchema Schema() => new() { Type = JsonSchemaType.Number, Format = Format };
}
