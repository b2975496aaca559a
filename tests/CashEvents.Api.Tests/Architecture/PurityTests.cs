using System.Reflection.Metadata;
using System.Reflection.PortableExecutable;
using NetArchTest.Rules;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>
/// A decision depends on the book, the day and the command alone; and folders are named by the trade.
/// </summary>
public sealed class PurityTests
{
    /// <summary>What would let a decision depend on when, where or how often it is made.</summary>
    private static readonly string[] _impure =
    [
        "System.TimeProvider", "System.Environment", "System.Random", "System.Console", "System.Threading.Thread",
        "System.Threading.Tasks.Task", "System.Guid",
        "System.Globalization.CultureInfo.get_CurrentCulture", "System.DateTime.get_Now", "System.DateTime.get_UtcNow",
        "System.DateTime.get_Today",
        "System.DateTimeOffset.get_Now", "System.DateTimeOffset.get_UtcNow", "System.TimeZoneInfo.get_Local",
        "System.Diagnostics.Stopwatch",
    ];

    /// <summary>
    /// What the compiler writes into every <c>yield</c>: it decides whether an iterator can be used again, not what it
    /// yields.
    /// </summary>
    private const string WrittenForIterators = "System.Environment.get_CurrentManagedThreadId";

    private static readonly string[] _impureNamespaces =
        ["System.IO", "System.Net", "System.Diagnostics.Process", "System.Security.Cryptography.RandomNumberGenerator",
            "Microsoft."];

    [Fact]
    public void The_check_of_dependencies_sees_one_that_is_there()
    {
        Assert.False(Types.InAssembly(typeof(CashBook).Assembly).ShouldNot().HaveDependencyOnAny("Marten")
            .GetResult().IsSuccessful);
        Assert.False(Types.InAssembly(typeof(CashBook).Assembly).ShouldNot().HaveDependencyOnAny("CashEvents.Domain")
            .GetResult().IsSuccessful);
    }

    [Fact]
    public void The_domain_asks_neither_the_clock_nor_the_machine_nor_chance()
    {
        var used = MembersUsedBy(typeof(Book).Assembly.Location).ToList();

        Assert.Contains("System.DateOnly.FromDateTime", used);
        Assert.DoesNotContain(used.Where(member => member != WrittenForIterators),
            member => _impure.Any(name => member == name || member.StartsWith(name + ".", StringComparison.Ordinal)));
        Assert.DoesNotContain(used,
            member => _impureNamespaces.Any(name => member.StartsWith(name, StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData(typeof(Book))]
    [InlineData(typeof(CashBook))]
    public void Types_lie_in_folders_named_by_the_trade(Type part)
    {
        string[] vague = ["Core", "Common", "Shared", "Helpers", "Utils", "Infrastructure", "Services", "Models"];

        var folders = part.Assembly.GetExportedTypes().Select(t => t.Namespace!.Split('.').ElementAtOrDefault(2))
            .Where(f => f is not null).Distinct();

        Assert.Empty(folders.Intersect(vague));
    }

    /// <summary>Every member of another assembly that an assembly's code refers to, as Namespace.Type.Member.</summary>
    private static IEnumerable<string> MembersUsedBy(string assembly)
    {
        using var file = new PEReader(File.OpenRead(assembly));
        var metadata = file.GetMetadataReader();
        return
        [
            .. metadata.MemberReferences.Select(handle => metadata.GetMemberReference(handle))
                .Where(member => member.Parent.Kind == HandleKind.TypeReference)
                .Select(member =>
                {
                    var type = metadata.GetTypeReference((TypeReferenceHandle)member.Parent);
                    return string.Join('.',
                        new[] { type.Namespace, type.Name, member.Name }.Select(metadata.GetString));
                }),
        ];
    }
}
