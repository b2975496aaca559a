using System.Threading.RateLimiting;
using Microsoft.Extensions.Primitives;

namespace CashEvents.Api.Http;

/// <summary>
/// Work that keeps a processor busy for long: of each household one at a time, and of all together so few that others
/// find a processor free. Households take turns.
/// </summary>
internal sealed class HeavyWork : IAsyncDisposable
{
    /// <summary>Requests of one household that may wait for their turn; one more is sent away.</summary>
    public const int MostWaiting = 32;

    private const int MostHouseholdsWaiting = 256;

    private readonly PartitionedRateLimiter<string> _ofEach = PartitionedRateLimiter.Create<string, string>(household =>
        RateLimitPartition.GetConcurrencyLimiter(household,
            _ => new ConcurrencyLimiterOptions { PermitLimit = 1, QueueLimit = MostWaiting }));

    private readonly ConcurrencyLimiter _ofAll = new(
        new ConcurrencyLimiterOptions
        {
            PermitLimit = Math.Max(1, Environment.ProcessorCount / 2),
            QueueLimit = MostHouseholdsWaiting
        });

    /// <summary>Households whose next request waits for those of others.</summary>
    public long HouseholdsWaiting => _ofAll.GetStatistics()?.CurrentQueuedCount ?? 0;

    /// <summary>Does it when its turn comes.</summary>
    /// <exception cref="BookBusyException">Too much waits already.</exception>
    public async ValueTask<object?> InTurnAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate work)
    {
        var http = context.HttpContext;
        using var own = await _ofEach.AcquireAsync(Caller.Of(http).Household, cancellationToken: http.RequestAborted)
            .ConfigureAwait(false);
        if (!own.IsAcquired)
        {
            throw new BookBusyException($"{MostWaiting} questions of this household that take long wait for their "
                + $"turn: send this one again in a few seconds.");
        }

        using var turn = await _ofAll.AcquireAsync(cancellationToken: http.RequestAborted).ConfigureAwait(false);
        return turn.IsAcquired ? await work(context).ConfigureAwait(false)
            : throw new BookBusyException("Too many households ask what takes long just now: send this again in a few "
                + "seconds.");
    }

    public async ValueTask DisposeAsync()
    {
        await _ofEach.DisposeAsync().ConfigureAwait(false);
        await _ofAll.DisposeAsync().ConfigureAwait(false);
    }
}

/// <summary>Marks endpoints whose work takes long.</summary>
internal static class HeavyEndpoints
{
    /// <summary>Its requests are done in turn.</summary>
    /// <param name="builder">The endpoint.</param>
    /// <param name="when">Parameters that make it so; always if none is named.</param>
    public static RouteHandlerBuilder IsHeavy(this RouteHandlerBuilder builder, params string[] when) =>
        builder.AddEndpointFilter((context, work) =>
        when.Length == 0 || when.Any(
            parameter => !StringValues.IsNullOrEmpty(context.HttpContext.Request.Query[parameter]))
            ? context.HttpContext.RequestServices.GetRequiredService<HeavyWork>().InTurnAsync(context, work)
            : work(context));
}
