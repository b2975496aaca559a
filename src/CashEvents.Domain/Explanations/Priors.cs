using System.Collections.Frozen;

namespace CashEvents.Domain.Explanations;

/// <summary>
/// Of counts that disagree for one cause, which share has which: what is usual, moved by what this household found
/// behind its own. docs/explanations.md gives the reason for each.
/// </summary>
/// <param name="learnt">What this household found.</param>
internal sealed class Priors(Learnt learnt)
{
    /// <summary>How many counts of the household weigh as much as what is usual.</summary>
    public const int WorthOfTheUsual = 25;

    /// <summary>How often there are two causes for every time that there is one.</summary>
    public const decimal Two = 0.08m;

    /// <summary>How often it was something that nobody has thought of, whatever seems to explain it.</summary>
    public const decimal NotThoughtOf = 0.02m;

    /// <summary>
    /// What a line counts for that is older than the last count that agreed: that count would have disagreed too.
    /// </summary>
    public const decimal BeforeAgreement = 0.05m;

    // Together with those below these are one.
    private const decimal UsualLoss = 0.195m;

    private static readonly FrozenDictionary<MistakeKind, decimal> Usual = new Dictionary<MistakeKind, decimal>
    {
        [MistakeKind.NotRecorded] = 0.32m,
        [MistakeKind.RecordedTwice] = 0.06m,
        [MistakeKind.WrongDirection] = 0.025m,
        [MistakeKind.WrongCompartment] = 0.06m,
        [MistakeKind.WrongHolding] = 0.025m,
        [MistakeKind.WrongDay] = 0.045m,
        [MistakeKind.Transposed] = 0.035m,
        [MistakeKind.Slid] = 0.02m,
        [MistakeKind.Rounded] = 0.045m,
        [MistakeKind.WrongFigure] = 0.025m,
        [MistakeKind.WrongDenomination] = 0.025m,
        [MistakeKind.PiecesMiscounted] = 0.055m,
        [MistakeKind.WrongChange] = 0.045m,
        [MistakeKind.NotMoved] = 0.02m,
    }.ToFrozenDictionary();

    /// <summary>The share of a kind.</summary>
    public decimal Of(MistakeKind kind) => Moved(Usual[kind], learnt.Times(kind));

    /// <summary>The share of what is no mistake of a kind that is listed: lost, found, never known.</summary>
    public decimal SomethingElse => Moved(UsualLoss, learnt.SomethingElse);

    // The mean of a Dirichlet distribution.
    private decimal Moved(decimal usual, int times) => ((WorthOfTheUsual * usual) + times)
        / (WorthOfTheUsual + learnt.All);
}
