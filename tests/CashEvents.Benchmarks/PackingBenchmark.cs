using System.Diagnostics;
using System.Globalization;

namespace CashEvents.Benchmarks;

/// <summary>Packing 20 compartments from one stack of 7 denominations, beside the plainest search.</summary>
internal static class PackingBenchmark
{
    private const int Tasks = 9;
    private const int Compartments = 20;
    private static readonly TimeSpan _longest = TimeSpan.FromSeconds(5);
    private static readonly long[] _euroNotes = [20_000, 10_000, 5_000, 2_000, 1_000, 500, 200];

    /// <summary>Runs it. Exit code 1 where a packing is wrong.</summary>
    public static int Run()
    {
        var random = new Random(2026);
        Measure(Possible(random), new());
        var possible = Enumerable.Range(0, Tasks).Select(_ => Possible(random)).ToList();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"packing: {Tasks} stacks of {_euroNotes.Length} denominations for {Compartments} compartments each"));
        var right = Report("stacks that can be packed exactly", possible);
        right &= Report("the same with a two exchanged for a five", [.. possible.Select(Tight)]);
        return right ? 0 : 1;
    }

    // A stack that is worth the amounts to the last piece, so that every piece has its place.
    private static PackingTask Possible(Random random)
    {
        var contents = Enumerable.Range(0, Compartments)
            .Select(_ => _euroNotes.Select((_, i) => random.Next(0, i < 2 ? 2 : 4)).Append(1).ToArray()).ToList();
        return new PackingTask(
            [.. contents.Select((c, i) =>
                new Target($"compartment-{i}", new Money(Math.Max(200, _euroNotes.Select((v, at) => v * c[at]).Sum())),
                    NoteWishes.None))],
            [.. _euroNotes.Select((v, at) => new Pieces(new Money(v), Math.Max(1, contents.Sum(c => c[at]))))],
            []);
    }

    private static PackingTask Tight(PackingTask task) => task with
    {
        InHand = [.. task.InHand.Select(
            p => p.Value.Minor == 200 ? p with { Count = p.Count - 1 } : p.Value.Minor == 500
                ? p with { Count = p.Count + 1 }
                : p)],
    };

    private static bool Report(string what, List<PackingTask> tasks)
    {
        var measured = tasks.ConvertAll(task => Measure(task, new()));
        var (solver, plain) = (Median(measured.ConvertAll(m => m.Solver)), Median(measured.ConvertAll(m => m.Plain)));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"  {what}: solver median {solver.TotalMilliseconds:F1} ms, longest "
                + $"{measured.Max(m => m.Solver).TotalMilliseconds:F1} ms, {measured.Count(m => m.Proven)} of "
                + $"{Tasks} proven best"));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"    plain search: {measured.Count(m => m.Finished)} of {Tasks} finished within "
                + $"{_longest.TotalSeconds} s, median {plain.TotalMilliseconds:F1} ms; solver to plain "
                + $"{solver / plain:F3}"));
        return measured.TrueForAll(m => m.Agrees);
    }

    private static (TimeSpan Solver, TimeSpan Plain, bool Proven, bool Finished, bool Agrees) Measure(PackingTask task,
        Stopwatch watch)
    {
        watch.Restart();
        var packing = PackingSolver.Pack(task);
        var solver = watch.Elapsed;
        using var stop = new CancellationTokenSource(_longest);
        watch.Restart();
        bool? possible = null;
        try
        {
            possible = new PlainPacking(task, stop.Token).IsPossible();
        }
        catch (OperationCanceledException)
        {
            // Not finished: counted with the time it was given.
        }

        return (solver, watch.Elapsed, packing.IsProvenBest, possible is not null, possible is null
            || possible == packing.IsExact);
    }

    private static TimeSpan Median(List<TimeSpan> times) => times.Order().ElementAt(times.Count / 2);
}
