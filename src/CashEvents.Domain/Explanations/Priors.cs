namespace CashEvents.Domain.Explanations;

/// <summary>
/// How often a mistake of each kind is made, before anything is known of amounts, days and words. Nobody has published
/// such figures for households:
/// these are guesses by common practice, to rank and no more.
/// </summary>
internal static class Priors
{
    /// <summary>Of movements, the share that is not recorded.</summary>
    public const decimal NotRecorded = 0.02m;

    /// <summary>Of lines, the share that repeats another.</summary>
    public const decimal RecordedTwice = 0.005m;

    /// <summary>Of lines, the share recorded in the wrong direction.</summary>
    public const decimal WrongDirection = 0.003m;

    /// <summary>Of lines, the share recorded in the wrong compartment.</summary>
    public const decimal WrongCompartment = 0.005m;

    /// <summary>Of lines, the share with two figures transposed.</summary>
    public const decimal Transposed = 0.004m;

    /// <summary>Of lines, the share with the point slid.</summary>
    public const decimal Slid = 0.002m;

    /// <summary>Of counts, the share with a note or coin taken for its neighbour.</summary>
    public const decimal WrongDenomination = 0.02m;

    /// <summary>Of spends in cash, the share with wrong change.</summary>
    public const decimal WrongChange = 0.003m;

    /// <summary>Of counts, the share since which lines were recorded whose money did not move.</summary>
    public const decimal NotMoved = 0.01m;

    /// <summary>Of counts, the share that is off for no reason listed here: lost, found, stolen, never known.</summary>
    public const decimal SomethingElse = 0.02m;

    /// <summary>
    /// What a line counts for that is older than the last count that agreed: that count would have disagreed too.
    /// </summary>
    public const decimal BeforeAgreement = 0.05m;
}
