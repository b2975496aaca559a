namespace CashEvents.Sheets.Printing;

/// <summary>A scale with round marks: one, two or five times a power of ten apart.</summary>
/// <param name="Low">Its first mark, at or below the least value.</param>
/// <param name="High">Its last mark, at or above the greatest value.</param>
/// <param name="Step">From mark to mark.</param>
/// <remarks>The method of P. Heckbert, "Nice numbers for graph labels", Graphics Gems, 1990.</remarks>
internal sealed record Scale(decimal Low, decimal High, decimal Step)
{
    /// <summary>The scale of some values.</summary>
    /// <param name="least">The least value.</param>
    /// <param name="greatest">The greatest; when it is no greater than the least, the scale runs one up from
    /// there.</param>
    /// <param name="marks">How many marks are wanted, two or more; it may have a few more or less.</param>
    public static Scale Of(decimal least, decimal greatest, int marks)
    {
        var last = greatest > least ? greatest : least + 1;
        var range = Digit(last - least, lead => lead <= 1 ? 1 : lead <= 2 ? 2 : lead <= 5 ? 5 : 10);
        var step = Digit(range / (marks - 1), lead => lead < 1.5m ? 1 : lead < 3 ? 2 : lead < 7 ? 5 : 10);
        return new Scale(Math.Floor(least / step) * step, Math.Ceiling(last / step) * step, step);
    }

    /// <summary>A scale that shows some values from zero, so that lengths can be compared.</summary>
    public static Scale FromZero(IEnumerable<decimal> values, int marks)
    {
        var all = values.Append(0).ToList();
        return Of(all.Min(), all.Max(), marks);
    }

    /// <summary>Its marks, from the lowest up.</summary>
    public IEnumerable<decimal> Marks
    {
        get
        {
            for (var mark = Low; mark <= High; mark += Step)
            {
                yield return mark;
            }
        }
    }

    /// <summary>How far along the scale a value lies: 0 at its first mark, 1 at its last.</summary>
    public decimal Share(decimal value) => (value - Low) / (High - Low);

    // One digit for a value's leading ones, at their power of ten.
    private static decimal Digit(decimal value, Func<decimal, int> round)
    {
        var power = 1m;
        while (value / power >= 10)
        {
            power *= 10;
        }

        while (value / power < 1)
        {
            power /= 10;
        }

        return power * round(value / power);
    }
}
