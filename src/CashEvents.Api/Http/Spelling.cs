namespace CashEvents.Api.Http;

/// <summary>How enumerations are written: the same camelCase words in requests, answers and sentences.</summary>
internal static class Spelling
{
    public static string Of<T>(T value) where T : struct, Enum
    {
        var name = value.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }

    public static IEnumerable<string> All(Type enumeration) =>
        Enum.GetNames(enumeration).Select(name => char.ToLowerInvariant(name[0]) + name[1..]);
}
