namespace CashEvents.Benchmarks;

/// <summary>
/// The plainest search for an exact packing: compartment by compartment, the largest notes first, and back when one is
/// left without.
/// </summary>
internal sealed class PlainPacking(PackingTask task, CancellationToken stop)
{
    private readonly int[] _left = [.. task.Values.Select(task.Held)];

    /// <summary>Whether there is one. What is packed is worth its amount whenever it says so.</summary>
    /// <exception cref="OperationCanceledException">It takes too long.</exception>
    public bool IsPossible() => Fits(0, task.Targets[0].Amount.Minor, 0);

    private bool Fits(int target, long amount, int value)
    {
        stop.ThrowIfCancellationRequested();
        if (amount == 0)
        {
            return target + 1 == task.Targets.Length || Fits(target + 1, task.Targets[target + 1].Amount.Minor, 0);
        }

        if (value == task.Values.Length)
        {
            return false;
        }

        var face = task.Values[value].Minor;
        for (var count = (int)Math.Min(_left[value], amount / face); count >= 0; count--)
        {
            _left[value] -= count;
            if (Fits(target, amount - (count * face), value + 1))
            {
                return true;
            }

            _left[value] += count;
        }

        return false;
    }
}
