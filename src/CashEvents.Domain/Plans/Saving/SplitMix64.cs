namespace CashEvents.Domain.Plans;

/// <summary>
/// The generator SplitMix64: the same seed gives the same numbers in every program and for ever, which the framework's
/// own does not promise.
/// Source: Steele, Lea and Flood, <em>Fast Splittable Pseudorandom Number Generators</em> (2014).
/// </summary>
/// <param name="seed">Any number.</param>
public sealed class SplitMix64(long seed)
{
    private ulong _state = unchecked((ulong)seed);

    /// <summary>The next number of 64 bits.</summary>
    public ulong Next()
    {
        unchecked
        {
            _state += 0x9E3779B97F4A7C15;
            var z = _state;
            z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
            z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
            return z ^ (z >> 31);
        }
    }

    /// <summary>
    /// Puts values in an order of chance, each order as likely as another (Fisher and Yates, from the last place down).
    /// </summary>
    public void Shuffle<T>(T[] values)
    {
        ArgumentNullException.ThrowIfNull(values);
        for (var last = values.Length - 1; last > 0; last--)
        {
            var other = (int)Below((ulong)last + 1);
            (values[last], values[other]) = (values[other], values[last]);
        }
    }

    // Numbers past the last whole multiple would make some places likelier than others.
    private ulong Below(ulong bound)
    {
        var most = ulong.MaxValue - (ulong.MaxValue % bound);
        ulong number;
        do
        {
            number = Next();
        }
        while (number >= most);

        return number % bound;
    }
}
