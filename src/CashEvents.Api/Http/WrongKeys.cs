using System.Net;
using System.Net.Sockets;
using System.Threading.RateLimiting;
using Microsoft.Extensions.Caching.Memory;

namespace CashEvents.Api.Http;

/// <summary>
/// Slows down who tries keys, by the address that they come from. A household may have one address for all, so only
/// wrong keys count:
/// a good one passes, and one that was used from its address before is not even looked at here.
/// </summary>
internal sealed class WrongKeys : IDisposable
{
    // A person who mends a script sends a few wrong keys, a program that tries them sends thousands.
    private const int WrongAtOnce = 30;
    private const int WrongASecond = 1;

    // Beyond that so many unknown keys of an address are looked up at a time, and what was wrong is answered late.
    private const int LookedUpAtOnce = 4;
    private const int MostTrusted = 10_000;
    private static readonly TimeSpan _late = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan _trustedFor = TimeSpan.FromDays(7);

    private readonly PartitionedRateLimiter<HttpContext> _wrong =
        PartitionedRateLimiter.Create<HttpContext, IPAddress>(http => RateLimitPartition.GetTokenBucketLimiter(
        AddressOf(http), _ => new TokenBucketRateLimiterOptions
        {
            TokenLimit = WrongAtOnce,
            TokensPerPeriod = WrongASecond,
            ReplenishmentPeriod = TimeSpan.FromSeconds(1)
        }));

    private readonly PartitionedRateLimiter<HttpContext> _lookedUp =
        PartitionedRateLimiter.Create<HttpContext, IPAddress>(http => RateLimitPartition.GetConcurrencyLimiter(
        AddressOf(http), _ => new ConcurrencyLimiterOptions { PermitLimit = LookedUpAtOnce }));

    private readonly MemoryCache _trusted = new(new MemoryCacheOptions { SizeLimit = MostTrusted });

    /// <summary>Before a key is looked up.</summary>
    public Lookup Look(HttpContext http, string key)
    {
        var sender = (AddressOf(http), key);
        var isTrusted = _trusted.TryGetValue(sender, out _);
        return new Lookup(this, http, sender, isTrusted,
            isTrusted || IsUnderLimit(http) ? null : _lookedUp.AttemptAcquire(http));
    }

    /// <summary>The answer to who sent too many.</summary>
    public static IResult TooMany(HttpContext http)
    {
        http.Response.Headers.RetryAfter = "1";
        return Problems.Of(StatusCodes.Status429TooManyRequests, "too-many-wrong-keys",
            "Too many wrong keys came from this address: wait a second, then send the right one.");
    }

    public void Dispose()
    {
        _wrong.Dispose();
        _lookedUp.Dispose();
        _trusted.Dispose();
    }

    // To ask for none takes none, and tells whether one is left.
    private bool IsUnderLimit(HttpContext http)
    {
        using var none = _wrong.AttemptAcquire(http, 0);
        return none.IsAcquired;
    }

    // Whoever has an address of version 6 has at least the 2^64 that begin alike (RFC 4291, 2.5.4).
    private static IPAddress AddressOf(HttpContext http)
    {
        var address = http.Connection.RemoteIpAddress ?? IPAddress.None;
        address = address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address;
        if (address.AddressFamily != AddressFamily.InterNetworkV6)
        {
            return address;
        }

        var bytes = address.GetAddressBytes();
        bytes.AsSpan(8).Clear();
        return new IPAddress(bytes);
    }

    /// <summary>A key that is looked up.</summary>
    internal readonly struct Lookup(WrongKeys wrong, HttpContext http, (IPAddress, string) sender, bool isTrusted,
        RateLimitLease? place) : IDisposable
    {
        /// <summary>Whether it may be looked up now.</summary>
        public bool IsFree => place is not { IsAcquired: false };

        /// <summary>It is a key of some household.</summary>
        public void WasRight()
        {
            if (!isTrusted)
            {
                wrong._trusted.Set(sender, true,
                    new MemoryCacheEntryOptions { Size = 1, SlidingExpiration = _trustedFor });
            }
        }

        /// <summary>It is nobody's. Comes back late when too many were.</summary>
        /// <returns>Whether too many were.</returns>
        public async ValueTask<bool> WasWrongAsync()
        {
            using var counted = wrong._wrong.AttemptAcquire(http);
            if (counted.IsAcquired)
            {
                return false;
            }

            await Task.Delay(_late, http.RequestAborted).ConfigureAwait(false);
            return true;
        }

        public void Dispose() => place?.Dispose();
    }
}
