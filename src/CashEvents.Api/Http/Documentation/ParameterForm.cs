using System.Globalization;
using System.Text.Json.Nodes;
using Microsoft.OpenApi;

namespace CashEvents.Api.Http;

/// <summary>A whole number's bounds, and what it is if left out. <see cref="Reads.Number"/> holds them.</summary>
/// <param name="Least">The smallest that is taken.</param>
/// <param name="Most">The largest that is taken.</param>
/// <param name="Otherwise">What is meant if it is left out; null where that is no number.</param>
internal sealed record Bounds(long Least, long Most, long? Otherwise = null);

/// <summary>
/// How a parameter is written, as the document says it. Each is the form that the method of <see cref="Reads"/> with
/// the same name takes; a test sends each parameter what its form excludes.
/// </summary>
internal sealed record ParameterForm(Func<OpenApiSchema> Schema)
{
    /// <summary>A day.</summary>
    public static ParameterForm Day { get; } = new(() => Text("date"));

    /// <summary>An instant.</summary>
    public static ParameterForm Instant { get; } = new(() => Text("date-time"));

    /// <summary>A month, such as <c>2026-11</c>.</summary>
    public static ParameterForm Month { get; } = new(() => Text(null, "^[0-9]{4}-(0[1-9]|1[0-2])$"));

    /// <summary>A week, such as <c>2026-W47</c>, or a day in it.</summary>
    public static ParameterForm Week { get; } =
        new(() => Text(null, "^[0-9]{4}-(W[0-9]{2}|[0-9]{2}-[0-9]{2})$"));

    /// <summary>An amount.</summary>
    public static ParameterForm Amount { get; } = new(ExactDecimal.Schema);

    /// <summary><c>true</c> or <c>false</c>.</summary>
    public static ParameterForm YesOrNo { get; } = new(() => new OpenApiSchema { Type = JsonSchemaType.Boolean });

    /// <summary>A whole number within bounds.</summary>
    public static ParameterForm Number(Bounds bounds) => new(() => new OpenApiSchema
    {
        Type = JsonSchemaType.Integer,
        Format = bounds.Most > int.MaxValue ? "int64" : "int32",
        Minimum = bounds.Least.ToString(CultureInfo.InvariantCulture),
        Maximum = bounds.Most.ToString(CultureInfo.InvariantCulture),
        Default = bounds.Otherwise is { } otherwise ? JsonValue.Create(otherwise) : null,
    });

    /// <summary>A part of a whole, 0 to 1.</summary>
    public static ParameterForm Share(decimal otherwise) => new(() => new OpenApiSchema
    {
        Type = JsonSchemaType.Number,
        Format = ExactDecimal.Format,
        Minimum = "0",
        Maximum = "1",
        Default = JsonValue.Create(otherwise),
    });

    /// <summary>One of an enumeration's words.</summary>
    public static ParameterForm Word<T>() where T : struct, Enum => OneOf(Spelling.All(typeof(T)));

    /// <summary>One of some words.</summary>
    public static ParameterForm OneOf(IEnumerable<string> words) => new(() => new OpenApiSchema
    {
        Type = JsonSchemaType.String,
        Enum = [.. words.Order(StringComparer.Ordinal).Select(word => JsonValue.Create(word))],
    });

    private static OpenApiSchema Text(string? format, string? pattern = null) =>
        new() { Type = JsonSchemaType.String, Format = format, Pattern = pattern };
}
