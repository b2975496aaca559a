using NetArchTest.Rules;
using Xunit;

namespace CashEvents.Api.Tests.Architecture;

/// <summary>Arrows point down only: Api, Store, Domain.</summary>
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
    public void The_private_PostgreSQL_knows_nothing_of_books()
    {
        var others = typeof(CashBook).Assembly.GetTypes().Select(t => t.Namespace ?? "").Append("CashEvents.Domain")
            .Distinct()
            .Where(name => name.StartsWith("CashEvents.", StringComparison.Ordinal)
                && name is not ("CashEvents.Store" or "CashEvents.Store.PostgreSql"));
        var result = Types.InAssembly(typeof(CashBook).Assembly).That().ResideInNamespace("CashEvents.Store.PostgreSql")
            .ShouldNot().HaveDependencyOnAny([.. others, typeof(CashBook).FullName!, "Marten", "JasperFx"]).GetResult();

        Assert.True(result.IsSuccessful, string.Join(", ", (result.FailingTypes ?? []).Select(t => t.FullName)));
    }

    [Fact]
    public void No_money_is_a_binary_fraction() => Assert.DoesNotContain(
        new[] { typeof(Book).Assembly, typeof(CashBook).Assembly, typeof(Api.Months.BalancesAnswer).Assembly }
            .SelectMany(assembly => assembly.GetTypes())
            .SelectMany(type => type.GetProperties()),
        property => property.PropertyType == typeof(double) || property.PropertyType == typeof(float)
            || property.PropertyType == typeof(double?) || property.PropertyType == typeof(float?));
}
