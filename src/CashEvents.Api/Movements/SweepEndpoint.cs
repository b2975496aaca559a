using System.Collections.Immutable;
using System.Text.Json;
using System.Text.Json.Serialization;
using FluentValidation;

namespace CashEvents.Api.Movements;

/// <summary>Leftovers of several compartments move into one.</summary>
[Kind("sweep")]
public sealed record SweepRequest : MovementRequest
{
    /// <summary>Which compartments: a list of ids, <c>{"wallet": "..."}</c> or <c>{"purpose": "..."}</c>.</summary>
    public SweptFrom? From { get; init; }

    /// <summary>Which of their holdings; cash if left out.</summary>
    public Holding? Holding { get; init; }

    /// <summary>Where all of it goes; the same holding if none is named.</summary>
    public PartRef? To { get; init; }

    /// <summary>What to leave in each; nothing if left out.</summary>
    public decimal? Leave { get; init; }

    /// <summary>
    /// What it takes: <c>all</c>, which is meant if left out, or <c>broughtForward</c>: what was there before the last
    /// fill of each, less what left since.
    /// </summary>
    public SweepTake? Take { get; init; }

    /// <summary>
    /// With <c>broughtForward</c>: the first day whose fills are fresh and stay; that of each compartment's last fill
    /// if left out.
    /// </summary>
    public DateOnly? FreshFrom { get; init; }

    /// <summary>What to write beside each line, at most 200 characters.</summary>
    public string? Description { get; init; }

    internal override MovementKind Kind => MovementKind.Sweep;

    internal override ICommand ToCommand()
    {
        var holding = Holding ?? Domain.Books.Holding.Cash;
        return new RecordSweep(From!.ToDomain(), holding, To!.ToPart(otherwise: holding), Leave, OccurredOn,
            Description)
        { Take = Take ?? SweepTake.All, FreshFrom = FreshFrom };
    }
}

/// <summary>Which compartments are swept: one of the three.</summary>
/// <param name="Compartments">These, by id.</param>
/// <param name="Wallet">All in this wallet.</param>
/// <param name="Purpose">All of this purpose.</param>
[JsonConverter(typeof(SweptFromJson))]
public sealed record SweptFrom(ImmutableArray<string>? Compartments, string? Wallet, Purpose? Purpose)
{
    internal bool IsOneOfThree =>
        (Compartments is null ? 0 : 1) + (Wallet is null ? 0 : 1) + (Purpose is null ? 0 : 1) == 1;

    internal SweepFrom ToDomain() => new(Compartments, Wallet, Purpose);
}

/// <summary>Written as a list of ids, or as an object.</summary>
internal sealed class SweptFromJson : JsonConverter<SweptFrom>, IHasTwoForms
{
    Type IHasTwoForms.AsObject => typeof(AsObject);

    Type IHasTwoForms.InShort => typeof(ImmutableArray<string>);

    string IHasTwoForms.Expected => "a list of compartment ids, or a JSON object with wallet or purpose";

    public override SweptFrom Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (reader.TokenType == JsonTokenType.StartArray)
        {
            return new SweptFrom(JsonSerializer.Deserialize<ImmutableArray<string>>(ref reader, options), null, null);
        }

        var written = JsonSerializer.Deserialize<AsObject>(ref reader, options)!;
        return new SweptFrom(written.Compartments, written.Wallet, written.Purpose);
    }

    public override void Write(Utf8JsonWriter writer, SweptFrom value, JsonSerializerOptions options) =>
        JsonSerializer.Serialize(writer, new AsObject(value.Compartments, value.Wallet, value.Purpose), options);

    private sealed record AsObject(ImmutableArray<string>? Compartments, string? Wallet, Purpose? Purpose);
}

internal sealed class SweepRequestValidator : AbstractValidator<SweepRequest>
{
    public SweepRequestValidator()
    {
        const string needed = "`from` is needed: a list of compartment ids, or {\"wallet\": \"...\"}, or {\"purpose\": "
            + "\"spending\"}.";
        RuleFor(r => r.From)
            .NotNull().WithMessage(needed)
            .Must(from => from!.IsOneOfThree).WithMessage(needed)
            .Must(from => from!.Compartments is not { } named
                || (named.Length is > 0 and <= 500 && named.All(n => !string.IsNullOrEmpty(n))))
            .WithMessage("`from` lists 1 to 500 compartments by their ids.");
        RuleFor(r => r.To).IsPlace();
        RuleFor(r => r.Leave).GreaterThanOrEqualTo(0m)
            .WithMessage("`leave` is what stays in each compartment: zero or more.");
    }
}

internal sealed class SweepEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api.MapMovement<SweepRequest>("/sweeps")
        .Produces<MovementAnswer>(StatusCodes.Status200OK)
        .WithSummary("Record a sweep: leftovers of several compartments move into one")
        .WithDescription("Writes a line for each compartment that has something left. Empty ones are passed "
            + "over. `swept` in the answer says what was taken of each and what it leaves there. Where the "
            + "month's end comes after a payday, `take` \"broughtForward\" takes only what was there before the "
            + "last fill, less what left since, so that the fresh notes stay. With nothing to sweep the answer "
            + "is 200 with no lines, and nothing is written.")
        .WithExample(
            """{"from": {"purpose": "spending"}, "to": {"compartment": "rainy-day"}, "take": "broughtForward", "occurredOn": "2026-10-31", "description": "October leftovers"}""",
            """{"lines": [88, 89], "entryId": 88, "balances": [{"compartment": "ferry-fares", "holding": "cash", "balance": 115.00}, {"compartment": "rainy-day", "holding": "cash", "balance": 46.35}, {"compartment": "market-days", "holding": "cash", "balance": 55.00}], "swept": [{"compartment": "ferry-fares", "holding": "cash", "taken": 3.40, "left": 115.00}, {"compartment": "market-days", "holding": "cash", "taken": 2.95, "left": 55.00}]}""");
}

/// <summary>A line of the kind <c>sweep</c>.</summary>
public sealed record SweepLine : MovementLineAnswer, ILineOf<Swept>
{
    /// <summary>Where money came from, in a transfer or sweep.</summary>
    public required PartAnswer From { get; init; }

    /// <summary>Where money went, in a transfer or sweep.</summary>
    public required PartAnswer To { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    static LineAnswer ILineOf<Swept>.Of(Swept e, LineTelling told) =>
        new SweepLine { From = PartAnswer.Of(e.From), To = PartAnswer.Of(e.To), Amount = told.Say(e.Amount) };
}
