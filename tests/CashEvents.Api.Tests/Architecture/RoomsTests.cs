using Mono.Cecil;
using Mono.Cecil.Rocks;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>
/// The rooms of the code: few, the same in every project, and in the domain none that needs one above it.
/// </summary>
public sealed class RoomsTests
{
    private const int MostRooms = 12;

    /// <summary>The rooms of the domain from the ground up: each may use those before it.</summary>
    private static readonly string[] _upwards =
    [
        "Naming", "Amounts", "Calendars", "Books", "Households", "Custody", "Plans", "Counts", "Paydays", "Movements",
        "Explanations", "Months",
    ];

    /// <summary>Rooms of the other projects that no room of the domain stands behind.</summary>
    private static readonly string[] _own =
        ["Http", "Printing", "Hosting", "PostgreSql", "Writing", "Backups", "Chain", "Rebuilds",
        "Notices"];

    [Fact]
    public void A_room_of_the_domain_uses_only_rooms_below_it() => Assert.Empty(
        Uses(typeof(Book)).Where(use => Array.IndexOf(_upwards, use.To) > Array.IndexOf(_upwards, use.From))
            .Select(use => $"{use.From} -> {use.To}: {use.By} uses {use.Used}"));

    [Fact]
    public void The_check_of_arrows_sees_those_that_are_there()
    {
        var uses = Uses(typeof(Book)).Select(use => (use.From, use.To)).ToHashSet();

        // By a base type, by a signature, and by nothing but a call in a body.
        Assert.Contains(("Movements", "Books"), uses);
        Assert.Contains(("Paydays", "Plans"), uses);
        Assert.Contains(("Months", "Explanations"), uses);
    }

    [Theory]
    [InlineData(typeof(Book))]
    [InlineData(typeof(CashBook))]
    [InlineData(typeof(Sheets.Months.RuledRow))]
    [InlineData(typeof(Api.Months.BalancesAnswer))]
    public void A_project_has_few_rooms_and_they_have_the_domains_names(Type part)
    {
        var rooms = part.Assembly.GetTypes().Select(t => Room(t.Namespace ?? "", part)).OfType<string>().Distinct()
            .ToList();

        Assert.True(rooms.Count <= MostRooms, string.Join(", ", rooms));
        Assert.Empty(rooms.Except(_upwards).Except(_own));
    }

    private static string? Room(string ofNamespace, Type part) =>
        ofNamespace.StartsWith(part.Assembly.GetName().Name + ".", StringComparison.Ordinal)
            ? ofNamespace.Split('.')[2]
            : null;

    /// <summary>Which type of one room uses which type of another, by what was compiled.</summary>
    private static IEnumerable<(string From, string To, string By, string Used)> Uses(Type part)
    {
        using var assembly = AssemblyDefinition.ReadAssembly(part.Assembly.Location);
        return
        [
            .. from type in assembly.MainModule.GetAllTypes()
               let room = Room(Outermost(type).Namespace, part)
               where room is not null
               from used in Used(type).Select(t => Outermost(t.GetElementType())).DistinctBy(t => t.FullName)
               let other = Room(used.Namespace, part)
               where other is not null && other != room
               select (room, other, Outermost(type).Name, used.Name),
        ];
    }

    private static TypeReference Outermost(TypeReference type) =>
        type.DeclaringType is { } around ? Outermost(around) : type;

    private static IEnumerable<TypeReference> Used(TypeDefinition type) =>
        new[] { type.BaseType }.Concat(type.Interfaces.Select(i => i.InterfaceType))
            .Concat(type.Fields.Select(f => f.FieldType))
            .Concat(type.CustomAttributes.Select(a => a.AttributeType))
            .Concat(type.Methods.SelectMany(m => m.Parameters.Select(p => p.ParameterType).Append(m.ReturnType)))
            .Concat(type.Methods.Where(m => m.HasBody)
                .SelectMany(m => m.Body.Variables.Select(v => v.VariableType)
                    .Concat(m.Body.Instructions.SelectMany(i => Named(i.Operand)))))
            .Where(t => t is not null).SelectMany(WithArguments);

    private static IEnumerable<TypeReference> Named(object? operand) => operand switch
    {
        GenericInstanceMethod method => method.GenericArguments.Append(method.DeclaringType).Append(method.ReturnType),
        MethodReference method => [method.DeclaringType, method.ReturnType],
        FieldReference field => [field.DeclaringType, field.FieldType],
        TypeReference type => [type],
        _ => [],
    };

    private static IEnumerable<TypeReference> WithArguments(TypeReference type) =>
        type is GenericInstanceType generic ? generic.GenericArguments.SelectMany(WithArguments).Append(type)
        : type is TypeSpecification over ? WithArguments(over.ElementType)
        : [type];
}
