using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>What the book keeps of counts.</summary>
public static class CountsInBook
{
    /// <summary>The last count of each place that was counted.</summary>
    public static readonly Section<ImmutableDictionary<Part, LastCount>> LastCounts =
        new("last counts", ImmutableDictionary<Part, LastCount>.Empty)
        {
            Follows =
            (counts, posted) => posted.Movement.Postings.Aggregate(counts, (c, p) => After(c, p, posted))
        };

    /// <summary>Rounds of counts that are open.</summary>
    public static readonly Section<ImmutableDictionary<long, CountRound>> Rounds =
        new("count rounds", ImmutableDictionary<long, CountRound>.Empty) { Follows = Noted };

    /// <summary>The notes and coins of compartments, while they are known.</summary>
    public static readonly Section<ImmutableDictionary<string, KnownNotes>> KnownNotes =
        new("known notes", ImmutableDictionary<string, KnownNotes>.Empty)
        {
            Follows =
            (known, posted) => known.IsEmpty ? known : known.RemoveRange(Unknown(posted))
        };

    /// <summary>
    /// The last day on which a compartment exchanged notes with another: a count of an earlier day does not say which
    /// it has since.
    /// </summary>
    public static readonly Section<ImmutableDictionary<string, DateOnly>> ExchangedOn = new("exchanged on",
        ImmutableDictionary<string, DateOnly>.Empty);

    /// <summary>The last statement of the bank.</summary>
    public static readonly Section<BankStatement?> Statement = new("bank statement", null)
    { Follows = (statement, posted) => After(statement, posted) };

    extension(Book book)
    {
        /// <summary>The last statement of the bank; null when none was read.</summary>
        public BankStatement? BankStatement => Statement.In(book);

        /// <summary>Rounds of counts that are open, by id; a compartment is in one at most.</summary>
        public ImmutableDictionary<long, CountRound> CountRounds => Rounds.In(book);

        /// <summary>The last count of a place; null when it was never counted.</summary>
        public LastCount? LastCount(Part part) => LastCounts.In(book).GetValueOrDefault(part);

        /// <summary>The last count of a compartment's cash; null when it was never counted.</summary>
        public LastCount? CashCount(string compartment) => book.LastCount(new Part(compartment, Holding.Cash));

        /// <summary>
        /// The wallets with cash in them, and the day of the oldest last count of a compartment with cash; null where
        /// one was never counted.
        /// </summary>
        public IEnumerable<(string Wallet, DateOnly? Counted)> CountedWallets =>
            book.Compartments.Values.Where(c => !c.Closed && c.Cash > Money.Zero).GroupBy(c => c.Wallet)
                .Select(wallet =>
                {
                    var days = wallet.Select(c => book.CashCount(c.Id)?.OccurredOn).ToList();
                    return (wallet.Key, days.Contains(null) ? null : days.Min());
                });

        /// <summary>A compartment's notes and coins; null while they are not known.</summary>
        public KnownNotes? NotesOf(string compartment) => KnownNotes.In(book).GetValueOrDefault(compartment);

        /// <summary>A round of counts that is open.</summary>
        /// <exception cref="RefusalException">No such round is.</exception>
        internal CountRound OpenCountRound(long id)
        {
            if (book.CountRounds.TryGetValue(id, out var round))
            {
                return round;
            }

            var open = string.Join(", ", book.CountRounds.Keys.Order());
            throw Refusal.NotFound("count-round-not-open", $"There is no count round {id} that is open: "
                + book.CountRounds.Count switch
                {
                    0 => $"open one with {Act.OpenCountRound.Way()}.",
                    1 => $"{open} is.",
                    _ => $"{open} are.",
                });
        }

        /// <summary>The book with the last count of a place changed, if it is the one of this line.</summary>
        internal Book WithCount(Part part, long line, Func<LastCount, LastCount> change) =>
            book.LastCount(part) is { } count && count.Line == line
                ? LastCounts.Change(book, counts => counts.SetItem(part, change(count)))
                : book;

        /// <summary>The book with a compartment of an open round changed.</summary>
        internal Book InRound(long round, string compartment, Func<RoundCompartment, RoundCompartment> change) =>
            Rounds.Change(book, rounds => rounds.SetItem(round, rounds[round].With(compartment, change)));

        /// <summary>
        /// The book after a count. One that is typed in late is a line of the book, and the count of a later day
        /// stands.
        /// </summary>
        internal Book Count(CountTaken taken)
        {
            var atLine = taken.InRound?.AtLine ?? book.Line;
            var last = book.LastCount(new Part(taken.Compartment, taken.Holding));
            var after = last?.OccurredOn > taken.OccurredOn ? book : book.Counted(taken, last, atLine);
            return taken.InRound is { } inRound
                ? after.InRound(inRound.Round, taken.Compartment,
                    counted => counted.Counted(new RoundCount(book.Line + 1, atLine, inRound.By)))
                : after;
        }

        private Book Counted(CountTaken taken, LastCount? before, long atLine)
        {
            var line = book.Line + 1;
            var part = new Part(taken.Compartment, taken.Holding);
            var meanwhile = taken.Holding == Holding.Cash
                ? book.CountRounds.With(taken.Compartment)?.Find(taken.Compartment)!.MovedAfter(taken.OccurredOn,
                    atLine).ToList() ?? [] : [];
            var count = new LastCount(line, taken.OccurredOn, taken.Expected, taken.Counted)
            {
                AtLine = atLine,
                MovedSince = meanwhile.Where(m => m.Change != Money.Zero).Select(m => (DateOnly?)m.BelongsTo)
                    .Append(book.MovedAfter(part, taken, before)).Min(),
            };
            var after = LastCounts.Change(book, counts => counts.SetItem(part, count));
            if (taken.Holding == Holding.Bank)
            {
                return after;
            }

            var areKnown = count.MovedSince is null && meanwhile.Count == 0
                && !(ExchangedOn.In(book).TryGetValue(taken.Compartment, out var exchanged)
                    && exchanged > taken.OccurredOn);
            var found = areKnown ? Domain.Counts.KnownNotes.From(taken, line) : null;
            return KnownNotes.Change(after,
                known => found is null ? known.Remove(taken.Compartment) : known.SetItem(taken.Compartment, found));
        }

        // The count before it knows what moved since, and that settlements did not; where that is on or before its day,
        // the days tell.
        private DateOnly? MovedAfter(Part part, CountTaken taken, LastCount? before) =>
            before is not null && !(before.MovedSince <= taken.OccurredOn)
            ? before.MovedSince
            : book.Days.GetValueOrDefault(part, DailyBalances.Empty).FirstAfter(taken.OccurredOn);

        /// <summary>The book after notes were exchanged.</summary>
        internal Book Exchange(NotesExchanged exchange)
        {
            var noted = exchange.About.Aggregate(book.CountRounds, (rounds, compartment) =>
                rounds.Noted(compartment, new MovedMeanwhile(book.Line + 1, exchange.OccurredOn, Money.Zero, null)));
            var after = Rounds.On(KnownNotes.Change(book, known =>
                known.Exchanged(exchange.Compartment, exchange, exchange.Gives, exchange.Takes)
                    .Exchanged(exchange.With, exchange, exchange.Takes, exchange.Gives)), noted);
            return ExchangedOn.Change(after, days => exchange.About.Aggregate(days, (d, compartment) =>
                d.TryGetValue(compartment, out var day) && day > exchange.OccurredOn
                    ? d
                    : d.SetItem(compartment, exchange.OccurredOn)));
        }
    }

    private static ImmutableDictionary<string, KnownNotes> Exchanged(
        this ImmutableDictionary<string, KnownNotes> known, string compartment, NotesExchanged exchange,
        ImmutableArray<Pieces> gone, ImmutableArray<Pieces> come) =>
        known.TryGetValue(compartment, out var notes) && exchange.OccurredOn >= notes.CountedOn
            ? known.SetItem(compartment, notes.After(gone, come))
            : known;

    private static CountRound? With(this ImmutableDictionary<long, CountRound> rounds, string compartment) =>
        rounds.IsEmpty ? null : rounds.Values.FirstOrDefault(round => round.Find(compartment) is not null);

    private static ImmutableDictionary<long, CountRound> Noted(this ImmutableDictionary<long, CountRound> rounds,
        string compartment, MovedMeanwhile moved) =>
        rounds.With(compartment) is { } round
            ? rounds.SetItem(round.Id, round.With(compartment, counted => counted.Note(moved)))
            : rounds;

    // What a settlement posts was found there, and not moved.
    private static ImmutableDictionary<long, CountRound> Noted(ImmutableDictionary<long, CountRound> rounds,
        Posted posted) =>
        rounds.IsEmpty || posted.Movement.Kind == MovementKind.Settlement ? rounds
        : posted.Movement.Postings.Where(p => p.Place.Holding == Holding.Cash).Aggregate(rounds, (r, p) =>
            r.Noted(p.Place.Compartment, new MovedMeanwhile(posted.Line, posted.BelongsTo, p.Amount, posted.Origin)));

    private static ImmutableDictionary<Part, LastCount> After(ImmutableDictionary<Part, LastCount> counts,
        Posting posting, Posted posted) =>
        !counts.TryGetValue(posting.Place, out var count) ? counts
        : posted.ShouldHaveBeenFoundBy(count) ? counts.SetItem(posting.Place, count.Learn(posting.Amount))
        // To agree on an over or short moves no note.
        : posted.Movement.Kind == MovementKind.Settlement ? counts
        : counts.SetItem(posting.Place, count.Moved(posted.BelongsTo));

    // In which notes money came or went no line says.
    private static IEnumerable<string> Unknown(Posted posted) => posted.Movement.Kind == MovementKind.Settlement ? []
        : posted.Movement.Postings.Where(
            p => p.Place.Holding == Holding.Cash && posted.Before.LastCount(p.Place) is { } count
                && !posted.ShouldHaveBeenFoundBy(count))
            .Select(p => p.Place.Compartment);

    // What an earlier count found to be over or short, this one found too.
    private static bool ShouldHaveBeenFoundBy(this Posted posted, LastCount count) =>
        posted.Movement.Consequences.OfType<SettledCount>().FirstOrDefault() is { } settled
            ? settled.Count != count.Line
        : Domain.Counts.LastCount.ShouldHaveFound(count.OccurredOn, count.AtLine, posted.BelongsTo, posted.Origin);

    // What a settlement of the statement posts was found there: the statement does not learn it.
    private static BankStatement? After(BankStatement? statement, Posted posted) =>
        statement is null || posted.Movement.Consequences.OfType<SettledStatement>()
            .Any(settled => settled.Statement == statement.Line) ? statement
        : posted.Movement.Postings.Where(p => p.Place.Holding == Holding.Bank)
            .Aggregate(statement, (s, p) => s.After(posted.BelongsTo, posted.Origin, p.Amount));
}
