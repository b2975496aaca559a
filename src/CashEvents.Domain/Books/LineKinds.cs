using System.Collections.Frozen;
using System.Reflection;

namespace CashEvents.Domain.Books;

/// <summary>The kinds of line there are, as their events name themselves.</summary>
public static class LineKinds
{
    /// <summary>Kind by the event's type.</summary>
    public static FrozenDictionary<Type, string> Names { get; } = typeof(LineKinds).Assembly.GetTypes()
        .Where(type => type is { IsAbstract: false } && type.IsAssignableTo(typeof(IBookEvent)))
        .ToFrozenDictionary(type => type, type => type.GetCustomAttribute<LineKindAttribute>()?.Name
            ?? throw new InvalidOperationException($"{type.Name} is a line without a name: give it a [LineKind]."));

    /// <summary>The event's type by kind.</summary>
    public static FrozenDictionary<string, Type> Types { get; } = Names.ToFrozenDictionary(n => n.Value, n => n.Key);

    /// <summary>The kind of an event.</summary>
    public static string Of(IBookEvent line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return Names[line.GetType()];
    }

    extension(BookLine line)
    {
        /// <summary>A line's kind, such as <c>spend</c>.</summary>
        public string Kind => Of(line.Event);
    }
}
