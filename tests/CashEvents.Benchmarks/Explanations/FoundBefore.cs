namespace CashEvents.Benchmarks.Explanations;

/// <summary>
/// What a household found behind earlier counts: each with the lines that were wrong, the count that disagreed, and
/// what put it right. All of it lies in a compartment of its own, before anything else, so that only what it teaches
/// can move later answers.
/// </summary>
/// <param name="append">Writes some lines as one entry, and tells the number of the last.</param>
/// <param name="told">Whether the counts are written; without them the same lines teach nothing.</param>
internal sealed class FoundBefore(Func<IBookEvent[], long> append, bool told)
{
    private const string Desk = "desk";

    private long _balance;
    private int _amount = 700;

    /// <summary>The compartment's id.</summary>
    public static string Compartment => Desk;

    /// <summary>Writes what was found, the latest shortly before a day.</summary>
    /// <param name="errs">The mistakes; null for a difference that was accepted.</param>
    /// <param name="other">Another place of the household.</param>
    /// <param name="before">The day.</param>
    public void Write(IReadOnlyList<Err?> errs, string other, DateOnly before)
    {
        var day = before.AddDays(-3 * (errs.Count + 1));
        Move(new Filled(Desk, Holding.Cash, new Money(2_000_000), day, "What there was"));
        foreach (var err in errs)
        {
            day = day.AddDays(3);
            _amount += 61;
            Find(err, other, day);
        }
    }

    private void Find(Err? err, string other, DateOnly day)
    {
        var right = new Spent(Desk, Holding.Cash, new Money(_amount), day, "Errand");
        IReplacement? wrong = err switch
        {
            Err.WrongWay => new Filled(Desk, Holding.Cash, right.Amount, day, "Errand"),
            Err.WrongCompartment => right with { Compartment = other },
            Err.WrongHolding => right with { Holding = Holding.Bank },
            Err.WrongDay => right with { OccurredOn = day.AddDays(2) },
            Err.Slid => right with { Amount = new Money(_amount * 10) },
            Err.Transposed => right with { Amount = new Money(Swapped(_amount)) },
            Err.Rounded => right with { Amount = new Money((_amount + 99) / 100 * 100) },
            Err.Digit => right with { Amount = new Money(OneFigureOff(_amount)) },
            Err.WrongChange => right with { Amount = new Money(_amount + 200) },
            _ => null,
        };
        switch (err)
        {
            case null:
                var number = Count(day, -137);
                if (told)
                {
                    append([new CountSettled(number, Desk, Holding.Cash, new Money(-137), day.AddDays(1), "agreed")]);
                    _balance -= 137;
                }

                break;
            case Err.SpendForgotten or Err.RefundForgotten or Err.FillForgotten or Err.TransferForgotten:
                Count(day.AddDays(1), -_amount);
                Move(right);
                break;
            case Err.Twice or Err.NotDone:
                if (err == Err.Twice)
                {
                    Move(right);
                }

                var line = Move(right);
                Count(day.AddDays(1), _amount);
                Correct([Undone(line, right)]);
                break;
            case Err.Misread or Err.PieceOff or Err.Stuck or Err.Total:
                Count(day, err == Err.Misread ? 300
                    : err == Err.Total ? (int)(OneFigureOff(_balance) - _balance) : 500);
                Count(day, 0);
                break;
            default:
                var written = Move(wrong!);
                Count(day.AddDays(1), (int)(Change(right) - (err == Err.WrongDay ? 0 : Change(wrong!))));
                Correct([Undone(written, wrong!), Corrected(right, written)]);
                break;
        }
    }

    private static long Change(IMovement said) => said.Postings.Where(p => p.Place == TrueLife.Cash(Desk))
        .Sum(p => p.Amount.Minor);

    // The first two neighbouring figures that differ change places.
    private static long Swapped(long amount)
    {
        var text = amount.ToString(System.Globalization.CultureInfo.InvariantCulture).ToCharArray();
        var at = Enumerable.Range(0, text.Length - 1).First(i => text[i] != text[i + 1] && text[i + 1] != '0');
        (text[at], text[at + 1]) = (text[at + 1], text[at]);
        return long.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
    }

    private static long OneFigureOff(long amount) => amount % 10 < 5 ? amount + 4 : amount - 4;

    private static Reversed Undone(long line, IReplacement said) => new(new Correction(line), said.Kind,
        [.. said.Postings.Select(p => p with { Amount = -p.Amount })], said.OccurredOn, "wrong");

    private static Spent Corrected(Spent right, long line) => right with { Corrects = new Correction(line) };

    private long Move(IReplacement said)
    {
        _balance += Change(said);
        return append([said]);
    }

    private void Correct(IBookEvent[] lines)
    {
        _balance += lines.OfType<IMovement>().Sum(Change);
        append(lines);
    }

    private long Count(DateOnly day, int off) => !told ? 0 : append([new CountTaken(Desk, Holding.Cash,
        new Money(_balance), new Money(_balance + off), [], day, "", "")]);
}
