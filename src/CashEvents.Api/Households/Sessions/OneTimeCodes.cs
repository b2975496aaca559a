using System.Collections.Concurrent;
using System.Security.Cryptography;

namespace CashEvents.Api.Households;

/// <summary>What a code that is good once lets in.</summary>
internal abstract record OneTimeCode
{
    /// <summary>How long it is good for; null for as long as the program runs.</summary>
    public virtual TimeSpan? GoodFor => null;
}

/// <summary>The keeper, at this machine: who can read what the program prints there.</summary>
/// <param name="Key">Hash of the keeper's key.</param>
internal sealed record KeepersLink(string Key) : OneTimeCode;

/// <summary>A phone that gets a key of its own.</summary>
/// <param name="By">The keeper who pairs it.</param>
/// <param name="Name">Name of its key.</param>
/// <param name="Role">What it may do.</param>
internal sealed record Pairing(Caller By, string Name, Role Role) : OneTimeCode
{
    /// <inheritdoc />
    public override TimeSpan? GoodFor => TimeSpan.FromMinutes(5);
}

/// <summary>Codes that let in once. They are kept in memory alone: a program that starts anew knows none.</summary>
internal sealed class OneTimeCodes(TimeProvider clock)
{
    // A keeper pairs a phone now and then.
    private const int MostWaiting = 100;

    private readonly ConcurrentDictionary<string, (OneTimeCode Code, long Since)> _waiting =
        new(StringComparer.Ordinal);

    /// <summary>A new code: 128 random bits.</summary>
    public string Issue(OneTimeCode code)
    {
        foreach (var (old, _) in _waiting.Where(w => !IsGood(w.Value))
            .Concat(_waiting.OrderBy(w => w.Value.Since).SkipLast(MostWaiting)))
        {
            _waiting.TryRemove(old, out _);
        }

        var written = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16));
        _waiting[KeyRing.Hash(written)] = (code, clock.GetTimestamp());
        return written;
    }

    /// <summary>What a code lets in, this once; null where it lets in nobody any more.</summary>
    /// <param name="written">As it was sent.</param>
    /// <param name="isHere">Whether it was sent from this machine.</param>
    public OneTimeCode? Take(string written, bool isHere)
    {
        var hash = KeyRing.Hash(written);
        return _waiting.TryGetValue(hash, out var waiting) && (isHere || waiting.Code is not KeepersLink)
            && _waiting.TryRemove(hash, out var taken) && IsGood(taken)
            ? taken.Code
            : null;
    }

    private bool IsGood((OneTimeCode Code, long Since) waiting) =>
        waiting.Code.GoodFor is not { } time || clock.GetElapsedTime(waiting.Since) < time;
}
