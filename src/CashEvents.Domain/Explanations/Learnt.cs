using System.Collections.Immutable;

namespace CashEvents.Domain.Explanations;

/// <summary>
/// What a household found behind its counts that disagreed. Nothing is kept for it: it is read from the lines that made
/// those counts agree, by an explanation or by hand, and from settlements.
/// </summary>
/// <param name="Kinds">How often which mistake.</param>
/// <param name="SomethingElse">How often it accepted an over or short.</param>
internal sealed record Learnt(ImmutableDictionary<MistakeKind, int> Kinds, int SomethingElse)
{
    // What took more entries than this was not found but tidied up.
    private const int MostEntries = 2;

    /// <summary>Nothing yet.</summary>
    public static Learnt Nothing { get; } = new(ImmutableDictionary<MistakeKind, int>.Empty, 0);

    /// <summary>How many causes it knows.</summary>
    public int All => Kinds.Values.Sum() + SomethingElse;

    /// <summary>How often one kind was found.</summary>
    public int Times(MistakeKind kind) => Kinds.GetValueOrDefault(kind);

    /// <summary>What some lines tell.</summary>
    /// <param name="book">The book, whole.</param>
    /// <param name="lines">Lines of it.</param>
    public static Learnt From(Book book, IReadOnlyList<BookLine> lines)
    {
        var told = new Telling(book, lines);
        foreach (var line in lines.OrderBy(l => l.Number))
        {
            told.Hear(line);
        }

        return told.Learnt;
    }

    private Learnt With(MistakeKind? kind) =>
        kind is { } found ? this with { Kinds = Kinds.SetItem(found, Times(found) + 1) } : this;

    // A count, with what is left of its difference by the entries that changed what it should have found.
    private sealed class OpenCount(long line, CountTaken taken)
    {
        public CountTaken Taken => taken;

        public Money Left { get; set; } = taken.Difference;

        public SortedSet<long> Entries { get; } = [];

        /// <summary>Those that it is taken to have come before, on its day.</summary>
        public SortedSet<long> SameDay { get; } = [];

        public long AtLine => taken.InRound?.AtLine ?? line - 1;
    }

    private sealed class Telling(Book book, IReadOnlyList<BookLine> lines)
    {
        private readonly Dictionary<long, BookLine> _lines = lines.ToDictionary(l => l.Number);
        private readonly ILookup<long, BookLine> _entries = lines.OrderBy(l => l.Number).ToLookup(l => l.EntryId);
        private readonly Dictionary<Part, OpenCount> _open = [];
        private readonly HashSet<long> _heard = [];

        public Learnt Learnt { get; private set; } = Nothing;

        public void Hear(BookLine line)
        {
            switch (line.Event)
            {
                case CountTaken taken:
                    Counted(line.Number, taken);
                    break;
                case CountSettled settled when book.Corrections.By(line.Number) is null:
                    Learnt = Learnt with { SomethingElse = Learnt.SomethingElse + 1 };
                    _open.Remove(new Part(settled.Compartment, settled.Holding));
                    break;
                case IMovement { Kind: not MovementKind.Settlement } moved:
                    Moved(line, moved);
                    break;
            }
        }

        // The same day's count once more. With another total the first one was wrong by what they differ, whatever is
        // left of it; with the same total it was right, and what was written in between was missing.
        private void Counted(long number, CountTaken taken)
        {
            var place = new Part(taken.Compartment, taken.Holding);
            var before = _open.GetValueOrDefault(place);
            // Typed in late: the last count is the last by its day.
            if (before?.Taken.OccurredOn > taken.OccurredOn)
            {
                return;
            }

            if (before is not null && before.Left != Money.Zero && before.Taken.OccurredOn == taken.OccurredOn)
            {
                if (taken.Counted != before.Taken.Counted && before.Left != taken.Difference)
                {
                    Learnt = Learnt.With(WrongCount(before.Taken, before.Left - taken.Difference)
                        ?? (taken.Difference == Money.Zero ? MistakeKind.PiecesMiscounted : null));
                }
                else if (taken.Difference == Money.Zero)
                {
                    Found(place, before.SameDay);
                }
            }

            _open[place] = new OpenCount(number, taken);
        }

        // One piece, or one for its neighbour; or the total was written wrong.
        private MistakeKind? WrongCount(CountTaken wrong, Money over)
        {
            var faces = Denominations.StillIssued(book.Currency);
            var size = new Money(Math.Abs(over.Minor));
            return faces.Contains(size) ? MistakeKind.PiecesMiscounted
                : faces.Zip(faces.Skip(1), (larger, smaller) => larger - smaller).Contains(size)
                    ? MistakeKind.WrongDenomination
                : Slip(wrong.Counted - over, wrong.Counted);
        }

        private MistakeKind? Slip(Money right, Money written) => right <= Money.Zero || written <= Money.Zero ? null
            : PenSlips.Between(right.Minor, written.Minor,
                book.Currency.ToMinor > 1m ? (long)book.Currency.ToMinor : 100)
                .OrderByDescending(s => s.Chance).Select(s => (MistakeKind?)s.Kind).FirstOrDefault();

        private void Moved(BookLine line, IMovement moved)
        {
            foreach (var posting in moved.Postings)
            {
                if (!_open.TryGetValue(posting.Place, out var count) || count.Left == Money.Zero)
                {
                    continue;
                }

                if (!LastCount.ShouldHaveFound(count.Taken.OccurredOn, count.AtLine,
                    moved.Corrects?.ClosedDay ?? moved.OccurredOn, book.Corrections.Origin(line.Number)))
                {
                    count.SameDay.UnionWith(moved.OccurredOn == count.Taken.OccurredOn ? [line.EntryId] : []);
                    continue;
                }

                count.Left -= posting.Amount;
                count.Entries.Add(line.EntryId);
                if (count.Left == Money.Zero)
                {
                    Found(posting.Place, count.Entries);
                }
            }
        }

        private void Found(Part place, SortedSet<long> entries) => Learnt = entries.Count > MostEntries ? Learnt
            : entries.Where(_heard.Add).SelectMany(e => Kinds(place, [.. _entries[e]]))
                .Aggregate(Learnt, (learnt, kind) => learnt.With(kind));

        // What an entry put right in a place.
        private IEnumerable<MistakeKind> Kinds(Part place, List<BookLine> entry)
        {
            var here = entry.Where(l => l.Event is IMovement m && m.Postings.Any(p => p.Place == place))
                .Select(l => (IMovement)l.Event).ToList();
            // A line may stand elsewhere, and belong here: then only what is written for it is here.
            foreach (var wrong in here.Select(m => m.Corrects?.Line).OfType<long>().Distinct())
            {
                if (_lines.GetValueOrDefault(wrong)?.Event is IReplacement written)
                {
                    var right = entry.Select(l => l.Event).OfType<IReplacement>()
                        .FirstOrDefault(r => r.Corrects?.Line == wrong);
                    yield return right is null ? Needless(wrong, written) : Wrong(written, right);
                }
            }

            foreach (var _ in here.OfType<IReplacement>().Where(m => m.Corrects is null))
            {
                yield return MistakeKind.NotRecorded;
            }
        }

        private MistakeKind Needless(long number, IReplacement written) => lines.Any(l => l.Number != number
            && l.Event is IReplacement other && other.Kind == written.Kind
            && Math.Abs(other.OccurredOn.DayNumber - written.OccurredOn.DayNumber) <= ExplainedCount.DaysBefore
            && other.Postings.SequenceEqual(written.Postings))
            ? MistakeKind.RecordedTwice
            : MistakeKind.NotMoved;

        private MistakeKind Wrong(IReplacement written, IReplacement right)
        {
            var (was, now) = (written.Postings.First(), right.Postings.First());
            if (Retold.Amount(written) != Retold.Amount(right))
            {
                return Slip(Retold.Amount(right), Retold.Amount(written)) ?? MistakeKind.WrongChange;
            }

            return was.Place.Compartment != now.Place.Compartment && written.Kind == right.Kind
                    && was.Amount < Money.Zero == now.Amount < Money.Zero ? MistakeKind.WrongCompartment
                : was.Place.Holding != now.Place.Holding && was.Place.Compartment == now.Place.Compartment
                    && written is not Transferred ? MistakeKind.WrongHolding
                : written.Kind != right.Kind || was.Place != now.Place ? MistakeKind.WrongDirection
                : MistakeKind.WrongDay;
        }
    }
}
