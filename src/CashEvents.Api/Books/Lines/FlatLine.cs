using System.Collections.Concurrent;
using System.Reflection;
using System.Runtime.CompilerServices;

namespace CashEvents.Api.Books;

/// <summary>A line as a row of a table has it: what its kind does not say is null.</summary>
/// <param name="Line">The line.</param>
internal sealed record FlatLine(LineAnswer Line)
{
    private static readonly ConcurrentDictionary<(Type Type, string Name), PropertyInfo?> _fields = [];

    public string? Compartment => Object<string>();
    public Holding? Holding => Value<Holding>();
    public PartAnswer? From => Object<PartAnswer>();
    public PartAnswer? To => Object<PartAnswer>();
    public string? With => Object<string>();
    public decimal? Amount => Value<decimal>();
    public decimal? Expected => Value<decimal>();
    public decimal? Counted => Value<decimal>();
    public decimal? Difference => Value<decimal>();
    public string? Label => Object<string>();
    public string? Name => Object<string>();
    public string? Witness => Object<string>();
    public string? Carrier => Object<string>();
    public long? Handover => Value<long>();
    public decimal? Carried => Value<decimal>();
    public long? CountId => Value<long>();
    public long? StatementId => Value<long>();
    public long? Reverses => Value<long>();
    public long? Amends => Value<long>();
    public DateOnly? ClosedDay => Value<DateOnly>();
    public IReadOnlyList<ChangeAnswer>? Changes => Object<IReadOnlyList<ChangeAnswer>>();
    public IReadOnlyList<BankPartAnswer>? Parts => Object<IReadOnlyList<BankPartAnswer>>();
    public IReadOnlyList<PiecesAnswer>? Gives => Object<IReadOnlyList<PiecesAnswer>>();
    public IReadOnlyList<PiecesAnswer>? Takes => Object<IReadOnlyList<PiecesAnswer>>();

    /// <summary>
    /// The places that it is about; where money or notes go from one to another, in that order. None where no
    /// compartment is named.
    /// </summary>
    public IReadOnlyList<PartAnswer> AboutPlaces =>
        From is { } from && To is { } to ? [from, to]
        : Changes is { } changes ? [.. changes.OrderBy(c => c.Change)
            .Select(c => new PartAnswer(c.Compartment, c.Holding))]
        : Parts is { } parts ? [.. parts.Select(p => new PartAnswer(p.Compartment, Domain.Books.Holding.Bank))]
        : Compartment is not { } compartment || Holding is not { } holding ? []
        : With is { } with ? [new PartAnswer(compartment, holding), new PartAnswer(with, holding)]
        : [new PartAnswer(compartment, holding)];

    /// <summary>
    /// What a fill run brings several places, or what undoing it takes from them: nothing goes from one of them to
    /// another.
    /// </summary>
    public decimal? OneWay =>
        Changes is { } changes && (changes.All(c => c.Change > 0) || changes.All(c => c.Change < 0))
            ? changes.Sum(c => c.Change)
            : null;

    private T? Value<T>([CallerMemberName] string name = "")
        where T : struct => Said(name) is T value ? value : null;

    private T? Object<T>([CallerMemberName] string name = "")
        where T : class => Said(name) as T;

    private object? Said(string name) =>
        _fields.GetOrAdd((Line.GetType(), name), field => field.Type.GetProperty(field.Name))?.GetValue(Line);
}
