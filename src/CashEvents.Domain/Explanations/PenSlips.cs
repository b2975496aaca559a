namespace CashEvents.Domain.Explanations;

/// <summary>
/// What a pen or a keyboard makes of an amount, and how likely each slip is to make just this of it.
/// </summary>
internal static class PenSlips
{
    // To the nearest whole unit, down, up, to the nearest half, to the nearest tenth.
    private static readonly decimal[] Roundings = [0.4m, 0.25m, 0.1m, 0.15m, 0.1m];

    /// <summary>The slips that write one amount as another, each with its chance if its kind is made.</summary>
    /// <param name="right">The amount as it is, above zero.</param>
    /// <param name="written">What was written, above zero.</param>
    /// <param name="unit">How many minor units a whole one has.</param>
    public static IEnumerable<(MistakeKind Kind, decimal Chance)> Between(long right, long written, long unit)
    {
        if ((right - written) % 9 == 0 && Slip.Between(new Money(right), new Money(written)) is
            { Kind: SlipKind.Transposition or SlipKind.Slide } slip)
        {
            yield return (slip.Kind == SlipKind.Slide ? MistakeKind.Slid : MistakeKind.Transposed, 1m / slip.Ways);
        }

        if (Rounding(right, written, unit) is > 0m and var rounded)
        {
            yield return (MistakeKind.Rounded, rounded);
        }

        if (FiguresIfOneDiffers(right, written) is { } figures)
        {
            yield return (MistakeKind.WrongFigure, 1m / (9 * figures));
        }
    }

    /// <summary>The amounts that differ from one in a single figure.</summary>
    public static IEnumerable<long> OneFigureOff(long amount)
    {
        for (long place = 1; place <= amount; place *= 10)
        {
            var figure = amount / place % 10;
            for (var other = amount / place < 10 ? 1 : 0; other < 10; other++)
            {
                if (other != figure)
                {
                    yield return amount + ((other - figure) * place);
                }
            }
        }
    }

    private static decimal Rounding(long right, long written, long unit)
    {
        if (Math.Abs(right - written) >= unit)
        {
            return 0m;
        }

        long Nearest(long step) => (right + (step / 2)) / step * step;
        long[] made = [Nearest(unit), right / unit * unit, (right + unit - 1) / unit * unit,
            Nearest(Math.Max(2, unit / 2)), Nearest(Math.Max(2, unit / 10))];
        var chance = 0m;
        for (var i = 0; i < made.Length; i++)
        {
            chance += made[i] == written ? Roundings[i] : 0m;
        }

        return chance;
    }

    // How many figures both have, when just one differs.
    private static int? FiguresIfOneDiffers(long right, long written)
    {
        var off = Math.Abs(right - written);
        while (off >= 10 && off % 10 == 0)
        {
            off /= 10;
        }

        if (off is 0 or >= 10)
        {
            return null;
        }

        var (figures, differing) = (0, 0);
        for (; right > 0 && written > 0; right /= 10, written /= 10, figures++)
        {
            differing += right % 10 == written % 10 ? 0 : 1;
        }

        return right == 0 && written == 0 && differing == 1 ? figures : null;
    }
}
