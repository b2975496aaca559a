using System.Globalization;

namespace CashEvents.Benchmarks.Explanations;

/// <summary>What a pen makes of a number, and how often.</summary>
internal static class SlipsOfThePen
{
    /// <summary>What the pen does to one number: slips of the kinds that befall lines.</summary>
    public static readonly Err[] OfThePen = [Err.Transposed, Err.Slid, Err.Rounded, Err.Digit];

    private static readonly CultureInfo Invariant = CultureInfo.InvariantCulture;

    // What a slip may make of an amount; of a digit, at each place each other one.
    private static List<(long Wrong, double Chance)> Slips(Err err, long right)
    {
        var text = right.ToString(Invariant);
        List<(long Wrong, double Chance)> wrong = [];
        void Add(long made, double chance = 1) => wrong.Add((made, chance));
        switch (err)
        {
            case Err.Transposed:
                for (var i = 0; i + 1 < text.Length; i++)
                {
                    Add(long.Parse(text[..i] + text[i + 1] + text[i] + text[(i + 2)..], Invariant));
                }

                break;
            case Err.Slid:
                Add(right * 10);
                Add(right * 100);
                Add(right % 10 == 0 ? right / 10 : right);
                break;
            case Err.Rounded:
                Add((right + 50) / 100 * 100, 2);
                Add(right / 100 * 100);
                Add((right + 25) / 50 * 50);
                break;
            default:
                for (var at = 0; at < text.Length; at++)
                {
                    for (var digit = at == 0 ? '1' : '0'; digit <= '9'; digit++)
                    {
                        Add(long.Parse(text[..at] + digit + text[(at + 1)..], Invariant), at == 0 ? 1.0 / 9 : 0.1);
                    }
                }

                break;
        }

        wrong.RemoveAll(w => w.Wrong == right || w.Wrong <= 0 || w.Wrong > 90_000);
        return wrong;
    }

    /// <summary>What a slip of one kind makes of an amount; null where it can't befall it.</summary>
    public static long? Slip(Random random, Err err, long right)
    {
        var wrong = Slips(err, right);
        var at = random.NextDouble() * wrong.Sum(w => w.Chance);
        foreach (var (made, chance) in wrong)
        {
            at -= chance;
            if (at <= 0)
            {
                return made;
            }
        }

        return null;
    }

    /// <summary>Whether a slip of one kind can befall an amount.</summary>
    public static bool MaySlip(Err err, long right) => Slips(err, right).Count > 0;

    /// <summary>How likely a slip of one kind makes one amount of another.</summary>
    public static double ShareOfSlip(Err err, long right, long written)
    {
        var slips = Slips(err, right);
        return slips.Count == 0 ? 0
            : slips.Where(s => s.Wrong == written).Sum(s => s.Chance) / slips.Sum(s => s.Chance);
    }
}
