using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

[assembly: AssemblyFixture(typeof(CashEvents.Api.Tests.Http.DemoServer))]

namespace CashEvents.Api.Tests.Http;

/// <summary>
/// A server on a day after the demo household's last movement, for households that are each the demo's.
/// </summary>
public sealed class DemoServer : IAsyncDisposable
{
    private readonly Lazy<Task<RunningServer>> _running = new(async () =>
    {
        var server = await RunningServer.StartAsync();
        server.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 30, 12, 0, 0, TimeSpan.Zero));
        return server;
    });

    internal Task<RunningServer> ServerAsync() => _running.Value;

    internal async Task<Household> DemoAsync()
    {
        var household = await Household.OpenEmptyAsync(await ServerAsync());
        await household.Server.Services.GetRequiredService<DemoSeed>().LoadAsync(household.Id, "keeper");
        return household;
    }

    /// <summary>Every operation of the OpenAPI document.</summary>
    internal async Task<IReadOnlyList<Operation>> OperationsAsync() =>
        [.. WholeDocument.Of((await (await ServerAsync()).Client(null).GetAsync("/openapi.json")).MustBe(200).Text)
            .GetProperty("paths")
            .EnumerateObject()
            .SelectMany(path => path.Value.EnumerateObject()
                .Select(operation => new Operation(operation.Name.ToUpperInvariant(), path.Name, operation.Value)))];

    public async ValueTask DisposeAsync()
    {
        if (_running is { IsValueCreated: true, Value.IsCompletedSuccessfully: true })
        {
            await (await _running.Value).DisposeAsync();
        }
    }
}

/// <summary>An operation as the OpenAPI document shows it.</summary>
internal sealed record Operation(string Method, string Path, JsonElement Shown)
{
    /// <summary>The room under which it is listed.</summary>
    public string Tag => Shown.GetProperty("tags")[0].GetString()!;

    public bool IsOffered => !Shown.TryGetProperty("x-not-to-try", out _);

    /// <summary>The forms in which it answers when all is well.</summary>
    public IReadOnlyList<string> Forms =>
        [.. Shown.GetProperty("responses").EnumerateObject()
            .Where(r => r.Name[0] == '2' && r.Value.TryGetProperty("content", out _))
        .SelectMany(r => r.Value.GetProperty("content").EnumerateObject().Select(c => c.Name))
        .Concat(OtherForms(Shown))];

    /// <summary>The forms beside JSON in which an operation answers.</summary>
    public static IEnumerable<string> OtherForms(JsonElement shown) =>
        shown.TryGetProperty("x-forms", out var forms) ? forms.EnumerateArray().Select(form => form.GetString()!) : [];

    /// <summary>The body that is shown; null where there is none.</summary>
    public string? Body => Shown.TryGetProperty("requestBody", out var body)
        ? body.GetProperty("content").GetProperty("application/json").GetProperty("example").GetRawText()
        : null;

    /// <summary>The address with the examples that are shown, and with others instead of some.</summary>
    public string Address(params (string Parameter, string Value)[] instead)
    {
        var address = Path;
        var query = new List<string>();
        foreach (var parameter in Shown.TryGetProperty("parameters", out var all) ? all.EnumerateArray().ToList() : [])
        {
            var name = parameter.GetProperty("name").GetString()!;
            var value = instead.FirstOrDefault(i => i.Parameter == name).Value
                ?? (parameter.TryGetProperty("example", out var example) ? example.ToString() : null);
            if (value is not null && parameter.GetProperty("in").GetString() == "path")
            {
                address = address.Replace($"{{{name}}}", Uri.EscapeDataString(value));
            }
            else if (value is not null && parameter.GetProperty("in").GetString() == "query")
            {
                query.Add($"{name}={Uri.EscapeDataString(value)}");
            }
        }

        return query.Count > 0 ? $"{address}?{string.Join('&', query)}" : address;
    }

    /// <summary>Sends it as it is shown.</summary>
    public Task<Reply> SendAsync(ApiClient sender)
    {
        var headers = Shown.TryGetProperty("parameters", out var all)
            ? all.EnumerateArray().Where(
                p => p.GetProperty("in").GetString() == "header" && p.TryGetProperty("example", out _))
                .Select(p => (p.GetProperty("name").GetString()!, p.GetProperty("example").ToString())).ToArray()
            : [];
        return sender.SendAsync(Method, Address(), Body, headers);
    }

    public override string ToString() => $"{Method} {Path}";
}
