using System.Collections.Immutable;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Domain.Plans;

/// <summary>A weekly amount and since when it is planned.</summary>
/// <param name="From">First day of the first week that it holds for.</param>
/// <param name="Amount">For a whole week; zero or more.</param>
/// <param name="Line">The line that set it.</param>
public readonly record struct PlannedAmount(DateOnly From, Money Amount, long Line);

/// <summary>
/// The weekly amounts of spending compartments, each from some week on until the next. A later line about the same week
/// stands in the stead of an earlier one.
/// </summary>
[JsonConverter(typeof(AsAmounts))]
public sealed class Plan
{
    private readonly ImmutableDictionary<string, ImmutableList<PlannedAmount>> _amounts;

    private Plan(ImmutableDictionary<string, ImmutableList<PlannedAmount>> amounts) => _amounts = amounts;

    /// <summary>Nothing is planned.</summary>
    public static Plan Empty { get; } = new(ImmutableDictionary<string, ImmutableList<PlannedAmount>>.Empty);

    /// <summary>From stored rows, each compartment's in order of their weeks.</summary>
    public static Plan Of(IEnumerable<(string Compartment, PlannedAmount Amount)> rows) =>
        new(rows.GroupBy(r => r.Compartment)
            .ToImmutableDictionary(g => g.Key, g => g.Select(r => r.Amount).ToImmutableList()));

    /// <summary>Compartments that have ever had a plan.</summary>
    public IEnumerable<string> Compartments => _amounts.Keys;

    /// <summary>A compartment's amounts in order of their weeks.</summary>
    public IReadOnlyList<PlannedAmount> Of(string compartment) => _amounts.GetValueOrDefault(compartment, []);

    /// <summary>
    /// What is planned for a compartment in the week that begins on a day; null when no plan had begun.
    /// </summary>
    public PlannedAmount? For(string compartment, DateOnly weekBegins)
    {
        var index = Of(compartment).Count(a => a.From <= weekBegins);
        return index == 0 ? null : Of(compartment)[index - 1];
    }

    /// <summary>The plan of the week of a day, and of later ones.</summary>
    internal Plan From(DateOnly day) => new(_amounts.ToImmutableDictionary(a => a.Key,
        a => a.Value.RemoveRange(0, Math.Max(a.Value.Count(planned => planned.From <= day) - 1, 0))));

    /// <summary>The plan after a line.</summary>
    internal Plan With(PlanSet set, long line) => new(set.Amounts.Aggregate(_amounts, (amounts, a) =>
    {
        var list = amounts.GetValueOrDefault(a.Key, []);
        var at = list.Count(x => x.From < set.From);
        var planned = new PlannedAmount(set.From, a.Value, line);
        return amounts.SetItem(a.Key,
            at < list.Count && list[at].From == set.From ? list.SetItem(at, planned) : list.Insert(at, planned));
    }));

    private sealed class AsAmounts : JsonConverter<Plan>
    {
        public override Plan Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            new(JsonSerializer.Deserialize<ImmutableDictionary<string, ImmutableList<PlannedAmount>>>(ref reader,
                options)!);

        public override void Write(Utf8JsonWriter writer, Plan value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, value._amounts, options);
    }
}

/// <summary>
/// Line: the weekly amounts of some spending compartments are set from a week on; those not named keep theirs.
/// </summary>
/// <param name="From">First day of the first week that they hold for.</param>
/// <param name="Amounts">Weekly amount by compartment.</param>
[LineKind("plan")]
public sealed record PlanSet(DateOnly From, ImmutableSortedDictionary<string, Money> Amounts) : IBookEvent
{
    /// <inheritdoc />
    public IEnumerable<string> About => Amounts.Keys;

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => PlansInBook.Plan.Change(book, plan => plan.With(this, book.Line + 1));

    /// <inheritdoc />
    public string Mend(long line) => $"set the plan from {From:O} again, and the new one stands in its stead";
}
