using System.Reflection;
using System.Text.RegularExpressions;
using Xunit;

namespace CashEvents.Cash.Tests.Architecture;

/// <summary>The command line talks to the book by the client alone, and the client by HTTP.</summary>
public sealed partial class PartsTests
{
    private static readonly Assembly _client = typeof(CashEventsClient).Assembly;
    private static readonly Assembly _cash = typeof(CashProgram).Assembly;

    [Fact]
    public void The_client_knows_no_other_part_and_the_command_line_knows_the_client()
    {
        Assert.Empty(Ours(_client));
        Assert.Equal(["CashEvents.Client"], Ours(_cash));
    }

    [Fact]
    public void No_money_is_a_binary_fraction()
    {
        var properties = new[] { _client, _cash }.SelectMany(part => part.GetTypes())
            .SelectMany(type => type.GetProperties()).Select(property => property.PropertyType).ToList();

        Assert.Contains(typeof(decimal?), properties);
        Assert.DoesNotContain(properties, type => (Nullable.GetUnderlyingType(type) ?? type) == typeof(double)
            || (Nullable.GetUnderlyingType(type) ?? type) == typeof(float));
    }

    [Fact]
    public void Its_rooms_have_the_names_of_all_others()
    {
        var page = File.ReadAllText(Path.Combine(BookServer.Repository, "docs", "architecture.md"));
        var rooms = Room().Matches(page).Select(room => room.Groups[1].Value).Append("Printing").Append("Hosting")
            .Append("Writing").ToList();

        Assert.Contains("Movements", rooms);
        Assert.Empty(_cash.GetTypes().Select(type => type.Namespace?.Split('.'))
            .Where(steps => steps is ["CashEvents", "Cash", _, ..]).Select(steps => steps![2]).Distinct()
            .Except(rooms));
    }

    /// <summary>A form of a line that the client does not know would be told as none.</summary>
    [Fact]
    public void The_client_is_made_from_the_contract_as_it_stands()
    {
        var contract = System.Text.Json.JsonElement.Parse(
            File.ReadAllText(Path.Combine(BookServer.Repository, "docs", "openapi.json")));
        var forms = contract.GetProperty("components").GetProperty("schemas").EnumerateObject()
            .Select(schema => schema.Name).Where(name => name.EndsWith("Line", StringComparison.Ordinal)
                && !name.StartsWith("Every", StringComparison.Ordinal));

        Assert.Equal(forms.Order(), typeof(LineAnswer).GetProperties().Select(form => form.Name).Order());
    }

    private static IEnumerable<string> Ours(Assembly part) => part.GetReferencedAssemblies()
        .Select(reference => reference.Name!).Where(name => name.StartsWith("CashEvents", StringComparison.Ordinal));

    [GeneratedRegex(@"^\| ([A-Z]\w+) \|", RegexOptions.Multiline)]
    private static partial Regex Room();
}
