using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>
/// How large what is lost or found is: a coin, a note, an odd sum of small change, or anything. Not as large as what
/// is bought.
/// </summary>
internal sealed class Losses
{
    private const decimal Short = 0.7m;
    private const decimal OneCoin = 0.4m;
    private const decimal OneNote = 0.15m;
    private const decimal OddSum = 0.37m;
    private const decimal Anything = 0.08m;

    private const long Step = 5;

    private readonly Habits _habits;
    private readonly ImmutableArray<Money> _coins;
    private readonly ImmutableArray<Money> _notes;
    private readonly long _unit;
    private readonly decimal _inSteps;

    public Losses(Book book, Habits habits)
    {
        _habits = habits;
        _unit = book.Currency.ToMinor > 1 ? (long)book.Currency.ToMinor : 100;
        // Who never pays to the cent has no cents to lose.
        _inSteps = 0.2m + (0.8m * habits.ShareOfMultiples(5));
        var faces = Denominations.StillIssued(book.Currency);
        _coins = [.. faces.Where(f => f.Minor < 5 * _unit)];
        _notes = [.. faces.Where(f => f.Minor >= 5 * _unit && f.Minor <= 100 * _unit)];
    }

    /// <summary>How likely it is that what is lost or found makes just this difference.</summary>
    public decimal Share(Money difference)
    {
        var size = new Money(Math.Abs(difference.Minor));
        var sign = difference < Money.Zero ? Short : 1m - Short;
        return sign * ((OneCoin * OneOf(_coins, size)) + (OneNote * OneOf(_notes, size))
            + (OddSum * Odd(size.Minor)) + (Anything * _habits.ShareOfAll(size)));
    }

    private static decimal OneOf(ImmutableArray<Money> faces, Money size) =>
        faces.Contains(size) ? 1m / faces.Length : 0m;

    // Half of them up to three units, most of the rest up to eight, a tenth up to thirty.
    private decimal Odd(long minor)
    {
        var each = (minor <= 3 * _unit ? 0.5m / (3 * _unit) : 0m) + (minor <= 8 * _unit ? 0.4m / (8 * _unit) : 0m)
            + (minor <= 30 * _unit ? 0.1m / (30 * _unit) : 0m);
        return each * (minor % Step == 0 ? (_inSteps * Step) + 1m - _inSteps : 1m - _inSteps);
    }
}
