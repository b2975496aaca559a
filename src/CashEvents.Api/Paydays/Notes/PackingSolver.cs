using System.Collections.Immutable;
using System.Diagnostics;
using Google.OrTools.Sat;

namespace CashEvents.Api.Paydays;

/// <summary>
/// Finds the best packing. Several compartments share one stack, so that what is best for one may leave another
/// without: all are looked at together, by constraint programming.
/// </summary>
/// <remarks>The same task gives the same packing: one worker, one seed, and effort counted in steps of the solver
/// instead of seconds. The seconds are a bound for machines that are slow beyond that.</remarks>
internal static class PackingSolver
{
    private const double MostEffort = 1;
    private static readonly TimeSpan _longest = TimeSpan.FromSeconds(10);

    /// <summary>The best packing of a task.</summary>
    public static Packing Pack(PackingTask task)
    {
        var model = new Model(task, task.Values, mayMiss: true);
        return model.Solve(model.Off, model.NeedsMissed(), model.Avoided, model.MoneyAsked, model.NotPreferred,
            model.PiecesAsked, model.PiecesPacked)!;
    }

    /// <summary>
    /// The fewest pieces of the stack to change at a shop, so that every amount can be packed; null when the stack is
    /// worth too little, or there are no pieces small enough.
    /// </summary>
    /// <param name="task">What is to be packed from the stack alone.</param>
    /// <param name="inTheTill">The values that a shop has.</param>
    public static ShopChange? Change(PackingTask task, ImmutableArray<Money> inTheTill)
    {
        if (task.Missing > Money.Zero)
        {
            return null;
        }

        var model = new Model(task, [.. task.Values.Union(inTheTill).OrderDescending()], mayMiss: false);
        var (given, got) = model.AddShop(inTheTill);
        return model.Solve(LinearExpr.Sum(given.Values), model.NeedsMissed(), model.Avoided, model.NotPreferred,
            LinearExpr.Sum(got.Values), model.PiecesPacked) is { } packing
            ? new ShopChange(model.Pieces(given), model.Pieces(got), packing)
            : null;
    }

    private sealed class Model
    {
        private readonly CpModel _model = new();
        private readonly PackingTask _task;
        private readonly ImmutableArray<Money> _values;
        private readonly IntVar[][] _packed;
        private readonly Dictionary<Money, IntVar> _asked = [];
        private readonly List<IntVar> _variables = [];
        private long[] _found = [];

        public Model(PackingTask task, ImmutableArray<Money> values, bool mayMiss)
        {
            (_task, _values) = (task, values);
            // An amount is never exceeded by a whole piece: without that piece it would be nearer.
            _packed = [.. task.Targets.Select(
                t => values.Select(v => Count((t.Amount.Minor + (mayMiss ? v.Minor - 1 : 0)) / v.Minor)).ToArray())];
            var off = new List<IntVar>();
            foreach (var (target, packed) in task.Targets.Zip(_packed))
            {
                var worth = Worth(values.Zip(packed));
                if (mayMiss)
                {
                    var (under, over) = (Count(target.Amount.Minor), Count(values.IsEmpty ? 0 : values[0].Minor - 1));
                    off.AddRange([under, over]);
                    worth += under - over;
                }

                _model.Add(worth == target.Amount.Minor);
            }

            Off = LinearExpr.Sum(off);
            if (mayMiss && task.NeverNearer() is var nearest && nearest > Money.Zero)
            {
                // Follows from the rest, but the solver would try long to find that out.
                _model.Add(Off >= nearest.Minor);
            }

            foreach (var value in task.FromBank)
            {
                _asked[value] = Count(task.Targets.Sum(t => (t.Amount.Minor / value.Minor) + 1));
            }

            if (task.FromBank.Length > 0 || mayMiss)
            {
                Share(value => LinearExpr.Constant(task.Held(value))
                    + (_asked.TryGetValue(value, out var asked) ? asked : LinearExpr.Constant(0)));
            }
        }

        public LinearExpr Off { get; }

        public LinearExpr NeedsMissed() =>
            LinearExpr.Sum(_task.Targets.SelectMany((target, i) => target.Wishes.AtLeast.Select(wished =>
        {
            var missed = Count(wished.Count);
            var at = _values.IndexOf(wished.Value);
            _model.Add((at < 0 ? missed : missed + _packed[i][at]) >= wished.Count);
            return missed;
        })).ToList());

        public LinearExpr Avoided =>
            LinearExpr.Sum(Each((target, value) => target.Wishes.Avoid.Contains(value)).Select(x => x.Packed));

        public LinearExpr NotPreferred =>
            Worth(Each((target, value) => target.Wishes.Prefer.Length > 0 && !target.Wishes.Prefer.Contains(value)));

        public LinearExpr MoneyAsked => Worth(_asked.Select(a => (a.Key, a.Value)));

        public LinearExpr PiecesAsked => LinearExpr.Sum(_asked.Values);

        public LinearExpr PiecesPacked => LinearExpr.Sum(_packed.SelectMany(p => p));

        /// <summary>Lets pieces of the stack be changed for others of the same worth.</summary>
        public (Dictionary<Money, IntVar> Given, Dictionary<Money, IntVar> Got) AddShop(ImmutableArray<Money> inTheTill)
        {
            var worth = Denominations.Total(_task.InHand).Minor;
            var given = _task.InHand.ToDictionary(p => p.Value, p => Count(p.Count));
            var got = inTheTill.ToDictionary(v => v, v => Count(worth / v.Minor));
            _model.Add(Worth(given.Select(g => (g.Key, g.Value))) == Worth(got.Select(g => (g.Key, g.Value))));
            Share(value => LinearExpr.Constant(_task.Held(value))
                - (given.TryGetValue(value, out var gone) ? gone : LinearExpr.Constant(0))
                + (got.TryGetValue(value, out var come) ? come : LinearExpr.Constant(0)));
            return (given, got);
        }

        /// <summary>
        /// Makes each of some figures as small as can be, the earlier ones first; null when nothing fits.
        /// </summary>
        public Packing? Solve(params LinearExpr[] figures)
        {
            var (proven, effort, watch) = (true, MostEffort, Stopwatch.StartNew());
            foreach (var figure in figures)
            {
                _model.Minimize(figure);
                var left = (_longest - watch.Elapsed).TotalSeconds;
                var solver = new CpSolver
                {
                    StringParameters = FormattableString.Invariant(
                        $"num_workers:1,random_seed:1,max_deterministic_time:{effort},max_time_in_seconds:{left}"),
                };
                var status = solver.Solve(_model);
                if (status is CpSolverStatus.Infeasible)
                {
                    return null;
                }

                proven &= status is CpSolverStatus.Optimal;
                if (status is not (CpSolverStatus.Optimal or CpSolverStatus.Feasible))
                {
                    break;
                }

                _found = [.. _variables.Select(v => solver.Value(v))];
                effort -= solver.Response!.DeterministicTime;
                if (effort <= 0 || watch.Elapsed >= _longest)
                {
                    proven = false;
                    break;
                }

                _model.Add(figure <= solver.Value(figure));
                _model.ClearHints();
                foreach (var (variable, value) in _variables.Zip(_found))
                {
                    _model.AddHint(variable, value);
                }
            }

            return _found.Length == 0 ? null
                : new Packing(_task, [.. _packed.Select(
                    packed => Pieces(_values.Zip(packed).ToDictionary(p => p.First, p => p.Second)))], proven);
        }

        /// <summary>How many of each value were found, largest first.</summary>
        public ImmutableArray<Pieces> Pieces(Dictionary<Money, IntVar> counts) =>
            [.. counts.Select(c => new Pieces(c.Key, (int)_found[_variables.IndexOf(c.Value)])).Where(p => p.Count > 0)
                .OrderByDescending(p => p.Value)];

        // What is packed of a value in all is no more than there is of it.
        private void Share(Func<Money, LinearExpr> there)
        {
            for (var at = 0; at < _values.Length; at++)
            {
                _model.Add(LinearExpr.Sum(_packed.Select(p => p[at])) <= there(_values[at]));
            }
        }

        private IntVar Count(long most)
        {
            var variable = _model.NewIntVar(0, most, "");
            _variables.Add(variable);
            return variable;
        }

        private IEnumerable<(Money Value, IntVar Packed)> Each(Func<Target, Money, bool> that) =>
            _task.Targets.SelectMany(
                (target, i) => _values.Select((value, at) => (value, _packed[i][at]))
                    .Where(x => that(target, x.value)));

        private static LinearExpr Worth(IEnumerable<(Money Value, IntVar Count)> pieces)
        {
            var all = pieces.ToList();
            return LinearExpr.WeightedSum(all.Select(p => p.Count), all.Select(p => p.Value.Minor));
        }
    }
}
