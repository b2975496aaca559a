using Xunit;

[assembly: AssemblyFixture(typeof(SharedServer))]

namespace CashEvents.Api.Tests.Hosting;

/// <summary>The one server that most tests send to, each with a household of its own.</summary>
public sealed class SharedServer : IAsyncDisposable
{
    private readonly Lazy<Task<RunningServer>> _running = new(() => RunningServer.StartAsync());

    internal Task<RunningServer> ServerAsync() => _running.Value;

    /// <summary>A household with wallets and compartments and no money yet.</summary>
    internal async Task<Household> HarbourRowAsync() => await Household.OpenAsync(await _running.Value);

    public async ValueTask DisposeAsync()
    {
        if (_running is { IsValueCreated: true, Value.IsCompletedSuccessfully: true })
        {
            await (await _running.Value).DisposeAsync();
        }
    }
}
