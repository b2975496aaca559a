using System.Text.Json;
using System.Text.Json.Serialization;
using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>What every movement has. In a batch its <c>kind</c> says which movement it is.</summary>
public abstract record MovementRequest
{
    /// <summary>The household's date on which it happened; today if left out.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>
    /// The sender's own name for this movement: sent again under it, it is written once. So does the Idempotency-Key
    /// header.
    /// </summary>
    public string? IdempotencyKey { get; init; }

    /// <summary>Which movement it is.</summary>
    internal abstract MovementKind Kind { get; }

    /// <summary>What it asks the book to write.</summary>
    internal abstract ICommand ToCommand();

    /// <summary>The request as the writer takes it.</summary>
    internal EntryRequest ToEntry() =>
        WriteDesk.Named(new EntryRequest(ToCommand(), WriteDesk.BodyKey(IdempotencyKey, "idempotencyKey")),
            Spelling.Of(Kind), this with { IdempotencyKey = null });
}

/// <summary>A compartment and one of its holdings.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank; cash if left out.</param>
[JsonConverter(typeof(PartRefJson))]
public sealed record PartRef(string? Compartment, Holding? Holding = null)
{
    /// <summary>The part in the domain's words.</summary>
    internal Part ToPart(Holding otherwise = Domain.Books.Holding.Cash) => new(Compartment!, Holding ?? otherwise);
}

/// <summary>A part is written as an object, or as the compartment's id alone.</summary>
internal sealed class PartRefJson : JsonConverter<PartRef>, IHasTwoForms
{
    Type IHasTwoForms.AsObject => typeof(AsObject);

    Type IHasTwoForms.InShort => typeof(string);

    string IHasTwoForms.Expected => "a compartment's id in quotes, or a JSON object with compartment and holding";

    public override PartRef Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (reader.TokenType == JsonTokenType.String)
        {
            return new PartRef(reader.GetString());
        }

        var written = JsonSerializer.Deserialize<AsObject>(ref reader, options)!;
        return new PartRef(written.Compartment, written.Holding);
    }

    public override void Write(Utf8JsonWriter writer, PartRef value, JsonSerializerOptions options) =>
        JsonSerializer.Serialize(writer, new AsObject(value.Compartment, value.Holding), options);

    private sealed record AsObject(string? Compartment, Holding? Holding);
}

/// <summary>Rules of form that several movements share.</summary>
internal static class MovementRules
{
    public static void IsCompartment<T>(this IRuleBuilder<T, string?> rule) =>
        rule.NotEmpty().WithMessage("`{PropertyName}` names a compartment by its id, such as \"ferry-fares\".");

    public static void IsAmount<T>(this IRuleBuilder<T, decimal?> rule) => rule
        .NotNull().WithMessage("`{PropertyName}` is needed: a JSON number such as 12.50.")
        .GreaterThan(0m).WithMessage("`{PropertyName}` is {PropertyValue}: write an amount above zero, and choose the "
            + "kind of movement for its direction.");

    public static void IsPlace<T>(this IRuleBuilder<T, PartRef?> rule) => rule
        .NotNull().WithMessage(PlaceNeeded)
        .Must(part => !string.IsNullOrEmpty(part!.Compartment)).WithMessage(PlaceNeeded);

    private const string PlaceNeeded =
        "`{PropertyName}` is needed: {\"compartment\": \"ferry-fares\", \"holding\": \"cash\"}.";
}
