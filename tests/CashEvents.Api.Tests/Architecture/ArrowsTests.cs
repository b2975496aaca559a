using System.Reflection;
using System.Reflection.Metadata;
using System.Reflection.Metadata.Ecma335;
using System.Reflection.PortableExecutable;
using NetArchTest.Rules;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>Arrows point down only: Api, Store, Domain; and the private PostgreSQL knows none of them.</summary>
public sealed class ArrowsTests
{
    [Theory]
    [InlineData("CashEvents.Store")]
    [InlineData("CashEvents.Api")]
    [InlineData("Marten")]
    [InlineData("JasperFx")]
    [InlineData("Npgsql")]
    [InlineData("Microsoft.AspNetCore")]
    [InlineData("Microsoft.Extensions")]
    [InlineData("FluentValidation")]
    [InlineData("System.IO.File")]
    [InlineData("System.Net")]
    [InlineData("System.TimeProvider")]
    [InlineData("System.Diagnostics.Stopwatch")]
    [InlineData("System.Threading")]
    public void The_domain_is_pure(string dependency)
    {
        var result = Types.InAssembly(typeof(Book).Assembly).ShouldNot().HaveDependencyOnAny(dependency).GetResult();

        Assert.True(result.IsSuccessful, string.Join(", ", (result.FailingTypes ?? []).Select(t => t.FullName)));
    }

    [Fact]
    public void The_domain_references_nothing_but_the_framework() => Assert.All(
        typeof(Book).Assembly.GetReferencedAssemblies(),
        reference => Assert.StartsWith("System.", reference.Name + ".", StringComparison.Ordinal));

    [Theory]
    [InlineData("CashEvents.Api")]
    [InlineData("Microsoft.AspNetCore")]
    public void The_store_knows_nothing_of_http(string dependency)
    {
        var result = Types.InAssembly(typeof(CashBook).Assembly).ShouldNot().HaveDependencyOnAny(dependency)
            .GetResult();

        Assert.True(result.IsSuccessful, string.Join(", ", (result.FailingTypes ?? []).Select(t => t.FullName)));
    }

    [Fact]
    public void Each_project_refers_to_those_below_it_alone()
    {
        (string Project, string[] Below)[] arrows =
        [
            ("CashEvents.Api",
                ["CashEvents.Domain", "CashEvents.EmbeddedPostgres", "CashEvents.Sheets", "CashEvents.Store"]),
            ("CashEvents.Sheets", ["CashEvents.Domain"]),
            ("CashEvents.Store", ["CashEvents.Domain"]),
            ("CashEvents.Domain", []),
            ("CashEvents.EmbeddedPostgres", []),
        ];

        Assert.All(arrows, arrow => Assert.Equal(arrow.Below,
            Assembly.Load(arrow.Project).GetReferencedAssemblies().Select(reference => reference.Name)
                .Where(name => name!.StartsWith("CashEvents.", StringComparison.Ordinal)).Order()));
    }

    [Fact]
    public void The_private_PostgreSQL_can_be_lifted_out()
    {
        var part = typeof(PrivatePostgres).Assembly;

        Assert.All(part.GetReferencedAssemblies().Select(reference => reference.Name!),
            name => Assert.True(name is "Npgsql" or "Microsoft.Extensions.Logging.Abstractions"
                || name.StartsWith("System.", StringComparison.Ordinal) || name is "Microsoft.Win32.Primitives", name));
        Assert.DoesNotContain(WordsOf(part), word => word.Contains("cashevents", StringComparison.OrdinalIgnoreCase));
        Assert.Contains(WordsOf(typeof(OwnPostgres).Assembly),
            word => word.Contains("CASHEVENTS_DATA", StringComparison.Ordinal));
    }

    [Fact]
    public void No_money_is_a_binary_fraction() => Assert.DoesNotContain(
        new[] { typeof(Book).Assembly, typeof(CashBook).Assembly, typeof(Api.Months.BalancesAnswer).Assembly }
            .SelectMany(assembly => assembly.GetTypes())
            .SelectMany(type => type.GetProperties()),
        property => property.PropertyType == typeof(double) || property.PropertyType == typeof(float)
            || property.PropertyType == typeof(double?) || property.PropertyType == typeof(float?));

    /// <summary>Every text that stands in an assembly's code.</summary>
    private static List<string> WordsOf(Assembly assembly)
    {
        using var file = new PEReader(File.OpenRead(assembly.Location));
        var metadata = file.GetMetadataReader();
        var words = new List<string>();
        for (var at = MetadataTokens.UserStringHandle(1); !at.IsNil; at = metadata.GetNextHandle(at))
            words.Add(metadata.GetUserString(at));
        return words;
    }
}
