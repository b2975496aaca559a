using System.Collections.Concurrent;
using System.Reflection;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;

namespace CashEvents.Api.Http;

/// <summary>The word by which one of several forms is told apart, in its field <c>kind</c>.</summary>
/// <param name="name">Such as <c>refund</c>.</param>
[AttributeUsage(AttributeTargets.Class, Inherited = false)]
internal sealed class KindAttribute(string name) : Attribute
{
    /// <summary>The word.</summary>
    public string Name { get; } = name;
}

/// <summary>Forms of which a request has one; its field <c>kind</c> says which.</summary>
internal static class Kinds
{
    /// <summary>The name of that field.</summary>
    public const string Field = "kind";

    private static readonly ConcurrentDictionary<Type, IReadOnlyList<(string Name, Type Type)>> _of = [];

    /// <summary>
    /// The forms that a type may have, by the order of their words; none for a type that has one form.
    /// </summary>
    public static IReadOnlyList<(string Name, Type Type)> Of(Type type) => _of.GetOrAdd(type, all =>
        !all.IsAbstract || all.Assembly != typeof(Kinds).Assembly ? [] :
        [
            .. from one in all.Assembly.GetTypes()
               let kind = one.GetCustomAttribute<KindAttribute>()
               where kind is not null && one.IsAssignableTo(all)
               orderby kind.Name
               select (kind.Name, one),
        ]);

    /// <summary>Reads and writes such types by their kind.</summary>
    public static void TellApart(JsonTypeInfo type)
    {
        if (Of(type.Type) is not { Count: > 0 } kinds)
        {
            return;
        }

        type.PolymorphismOptions = new JsonPolymorphismOptions
        {
            TypeDiscriminatorPropertyName = Field,
            UnknownDerivedTypeHandling = JsonUnknownDerivedTypeHandling.FailSerialization,
        };
        foreach (var (name, one) in kinds)
        {
            type.PolymorphismOptions.DerivedTypes.Add(new JsonDerivedType(one, name));
        }
    }
}
