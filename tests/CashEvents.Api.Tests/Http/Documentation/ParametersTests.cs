using System.Globalization;
using System.Text;
using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>What the document says of a parameter is what the server takes: neither more nor less.</summary>
public sealed class ParametersTests(DemoServer demo)
{
    private const string Sheet = "date,description,amount,balance\n2026-11-02,November pay,20.00,20.00\n";

    [Fact]
    public async Task What_lies_outside_a_parameters_form_is_refused_by_its_name()
    {
        var household = await demo.DemoAsync();
        var tried = 0;
        foreach (var (operation, name, schema) in await ParametersAsync())
        {
            foreach (var outside in Outside(schema))
            {
                var reply = await SendAsync(household, operation, name, outside);
                Assert.True(reply.Status == 400, $"{operation} {name}={outside}: {reply.Status} {reply.Text}");
                Assert.True(reply.MustBeProblem(400, "malformed").GetProperty("errors").TryGetProperty(name, out _),
                    $"{operation} {name}={outside} is not blamed: {reply.Text}");
                tried++;
            }
        }

        Assert.True(tried > 60, $"Only {tried} were tried.");
    }

    [Fact]
    public async Task What_lies_within_a_parameters_form_is_taken()
    {
        var household = await demo.DemoAsync();
        foreach (var (operation, name, schema) in await ParametersAsync())
        {
            foreach (var inside in Inside(schema))
            {
                var reply = await SendAsync(household, operation, name, inside);
                Assert.False(reply.Status == 400 && reply.Json.GetProperty("errors").TryGetProperty(name, out _),
                    $"{operation} {name}={inside}: {reply.Text}");
            }
        }
    }

    [Fact]
    public async Task What_is_meant_by_a_parameter_that_is_left_out_is_what_its_default_says()
    {
        var household = await demo.DemoAsync();
        foreach (var (operation, name, schema) in (await ParametersAsync())
            .Where(p => p.Schema.TryGetProperty("default", out _)))
        {
            var otherwise = schema.GetProperty("default").ToString();
            // The address of the next page has what was sent.
            Assert.Equal((await operation.SendAsync(household.Keeper)).MustBe(200).Text,
                (await SendAsync(household, operation, name, otherwise)).MustBe(200).Text
                    .Replace($"&{name}={otherwise}", "", StringComparison.Ordinal));
        }
    }

    private async Task<List<(Operation Operation, string Name, JsonElement Schema)>> ParametersAsync() =>
    [
        .. from operation in await demo.OperationsAsync()
           where operation.IsOffered && operation.Shown.TryGetProperty("parameters", out _)
           from parameter in operation.Shown.GetProperty("parameters").EnumerateArray()
           where parameter.GetProperty("in").GetString() == "query"
           select (operation, parameter.GetProperty("name").GetString()!, parameter.GetProperty("schema")),
    ];

    private static Task<Reply> SendAsync(Household household, Operation operation, string name, string value) =>
        operation.Path == "/api/imports"
            ? household.Keeper.SendContentAsync("POST",
                operation.Address((name, value), ("compartment", "saved-in-november"), ("dryRun", "true")),
                new StringContent(Sheet, Encoding.UTF8, "text/csv"))
            : household.Keeper.SendAsync(operation.Method, operation.Address((name, value)), operation.Body);

    private static IEnumerable<string> Outside(JsonElement schema)
    {
        var type = schema.GetProperty("type").GetString();
        foreach (var (bound, step) in new[] { ("minimum", -1), ("maximum", 1) })
        {
            if (schema.TryGetProperty(bound, out var last))
            {
                yield return (last.GetDecimal() + step).ToString(CultureInfo.InvariantCulture);
            }
        }

        if (type != "string" || schema.TryGetProperty("enum", out _) || schema.TryGetProperty("pattern", out _)
            || schema.TryGetProperty("format", out _))
        {
            yield return "no-such-word";
        }

        if (schema.TryGetProperty("format", out var format) && format.GetString() is "date" or "date-time")
        {
            yield return "2026-13-40";
        }
    }

    private static IEnumerable<string> Inside(JsonElement schema)
    {
        foreach (var bound in new[] { "minimum", "maximum" })
        {
            if (schema.TryGetProperty(bound, out var last))
            {
                yield return last.ToString();
            }
        }

        if (schema.TryGetProperty("enum", out var words))
        {
            foreach (var word in words.EnumerateArray())
            {
                yield return word.GetString()!;
            }
        }

        if (schema.GetProperty("type").GetString() == "boolean")
        {
            yield return "true";
            yield return "false";
        }
    }
}
