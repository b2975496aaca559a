using System.Collections.Immutable;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>The notes and coins that there are, and what lies in a purse.</summary>
internal static class NotesAndCoins
{
    /// <summary>All of them, the largest first.</summary>
    public static readonly Money[] Faces = [.. Denominations.StillIssued(Currency.Of("EUR"))];

    /// <summary>By how much the change on a price may be wrong.</summary>
    public static Money[] StepsOfChange(Money price)
    {
        var change = Faces.Where(f => f >= price).DefaultIfEmpty(price).Min() - price;
        return [.. Faces.Concat(Faces.Zip(Faces.Skip(1), (a, b) => a - b)).Distinct()
            .Where(s => s <= change && s.Minor >= 5)];
    }

    /// <summary>A purse with some of everything, not the fewest pieces.</summary>
    public static ImmutableArray<Pieces> InPieces(Random random, Money total)
    {
        var (rest, pieces) = (total.Minor, new List<Pieces>());
        foreach (var face in Faces.Select(f => f.Minor).Where(f => f <= 5_000))
        {
            var most = (int)(rest / face);
            var number = face is 1 ? most : face > 2_000
                ? Math.Max(0, most - random.Next(3))
                : Math.Max(0, Math.Min(most, (most / 2) + random.Next(3)));
            pieces.Add(new Pieces(new Money(face), number));
            rest -= number * face;
        }

        return [.. pieces.Where(p => p.Count > 0)];
    }
}
