namespace CashEvents.Benchmarks.Explanations;

/// <summary>A movement told with one thing changed.</summary>
internal static class Retelling
{
    /// <summary>Written with its money going the other way; a spend as a fill or as a refund.</summary>
    public static IReplacement? Turned(Random random, IReplacement said) => said switch
    {
        Spent s when random.Next(2) == 0 =>
            new Filled(s.Compartment, s.Holding, s.Amount, s.OccurredOn, s.Description),
        Spent s => new Refunded(s.Compartment, s.Holding, s.Amount, s.OccurredOn, s.Description),
        Refunded r => new Spent(r.Compartment, r.Holding, r.Amount, r.OccurredOn, r.Description),
        Transferred t => t with { From = t.To, To = t.From },
        Filled f => new Spent(f.Compartment, f.Holding, f.Amount, f.OccurredOn, f.Description),
        _ => null,
    };

    /// <summary>Written in another place; null for what has two.</summary>
    public static IReplacement? Moved(IReplacement said, Part to) => said switch
    {
        Spent s => s with { Compartment = to.Compartment, Holding = to.Holding },
        Refunded r => r with { Compartment = to.Compartment, Holding = to.Holding },
        Filled f => f with { Compartment = to.Compartment, Holding = to.Holding },
        _ => null,
    };

    /// <summary>Written with another amount.</summary>
    public static IReplacement? WithAmount(IReplacement said, Money amount) => said switch
    {
        Spent s => s with { Amount = amount },
        Refunded r => r with { Amount = amount },
        Filled f => f with { Amount = amount },
        Transferred t => t with { Amount = amount },
        _ => null,
    };

    /// <summary>Written on another day.</summary>
    public static IReplacement Dated(IReplacement said, DateOnly day) => said switch
    {
        Spent s => s with { OccurredOn = day },
        Refunded r => r with { OccurredOn = day },
        Filled f => f with { OccurredOn = day },
        Transferred t => t with { OccurredOn = day },
        _ => said,
    };

    /// <summary>Written with other words.</summary>
    public static IReplacement Worded(IReplacement said, string words) => said switch
    {
        Spent s => s with { Description = words },
        Refunded r => r with { Description = words },
        Transferred t => t with { Description = words },
        _ => said,
    };

    /// <summary>What moved, above zero.</summary>
    public static Money Amount(IMovement said) => new(Math.Abs(said.Postings.First().Amount.Minor));

    /// <summary>Whether both are of one kind and move the same; words and day can't be known.</summary>
    public static bool Same(IReplacement one, IReplacement other) =>
        one.Kind == other.Kind && one.Postings.SequenceEqual(other.Postings);
}
