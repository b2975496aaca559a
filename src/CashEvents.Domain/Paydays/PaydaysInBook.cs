using System.Collections.Immutable;

namespace CashEvents.Domain.Paydays;

/// <summary>What the book keeps of what comes, what leaves the bank, and how a payday is shared out.</summary>
public static class PaydaysInBook
{
    /// <summary>Who pays.</summary>
    public static readonly Section<ImmutableDictionary<string, IncomeSource>> IncomeSources = new("income sources",
        ImmutableDictionary<string, IncomeSource>.Empty);

    /// <summary>What leaves the bank again and again.</summary>
    public static readonly Section<ImmutableDictionary<string, StandingPayment>> StandingPayments =
        new("standing payments", ImmutableDictionary<string, StandingPayment>.Empty);

    /// <summary>How compartments are filled.</summary>
    public static readonly Section<ImmutableDictionary<string, FillRule>> FillRules = new("fill rules",
        ImmutableDictionary<string, FillRule>.Empty);

    /// <summary>When the program fills by itself.</summary>
    public static readonly Section<AutomaticFills?> AutomaticFills = new("automatic fills", null);

    /// <summary>What became of paydays.</summary>
    public static readonly Section<ImmutableSortedDictionary<DateOnly, PaydayMark>> FillRuns =
        new("fill runs", ImmutableSortedDictionary<DateOnly, PaydayMark>.Empty, growsWithTheBook: true)
        {
            GoesAlong = (runs, from) => runs.RemoveRange(runs.Keys.Where(payday => payday < from.Day)),
        };

    /// <summary>In which notes compartments would have their cash.</summary>
    public static readonly Section<ImmutableDictionary<string, NoteWishes>> NoteWishes = new("note wishes",
        ImmutableDictionary<string, NoteWishes>.Empty);

    extension(Book book)
    {
        /// <summary>The book in which a source is supposed to pay an amount each time.</summary>
        /// <exception cref="RefusalException">There is no such source, or the amount has too many decimals.</exception>
        public Book Supposing(string source, decimal amount, string field) =>
            book.IncomeSources.GetValueOrDefault(source) is { } known
                ? book.With(IncomeSources, book.IncomeSources.SetItem(source,
                    known with { Amount = book.Currency.Exactly(amount, field) }))
                : throw Refusal.Unfit(field, "income-source-unknown",
                    $"There is no income source '{source}'. {Act.ListIncomeSources.Way()} lists them.",
                    NearNames.Of(source, book.IncomeSources.Keys));

        /// <summary>Who pays, by id.</summary>
        public ImmutableDictionary<string, IncomeSource> IncomeSources => IncomeSources.In(book);

        /// <summary>What leaves the bank again and again, by id.</summary>
        public ImmutableDictionary<string, StandingPayment> StandingPayments => StandingPayments.In(book);

        /// <summary>How compartments are filled on paydays, by compartment, where it was said.</summary>
        public ImmutableDictionary<string, FillRule> FillRules => FillRules.In(book);

        /// <summary>When the program fills by itself; null while it does not.</summary>
        public AutomaticFills? AutomaticFills => AutomaticFills.In(book);

        /// <summary>What became of paydays, by bank day, where a run filled or left them.</summary>
        public ImmutableSortedDictionary<DateOnly, PaydayMark> FillRuns => FillRuns.In(book);

        /// <summary>In which notes a compartment would have its cash; nothing wished when it never said.</summary>
        public ImmutableDictionary<string, NoteWishes> AllNoteWishes => NoteWishes.In(book);

        /// <summary>In which notes a compartment would have its money.</summary>
        public NoteWishes NoteWishesOf(string compartment) =>
            NoteWishes.In(book).GetValueOrDefault(compartment, Domain.Paydays.NoteWishes.None);

        /// <summary>The book with a payday marked.</summary>
        internal Book Mark(DateOnly payday, long line, PaydayState state) =>
            FillRuns.Change(book, runs => runs.SetItem(payday, new PaydayMark(line, state)));
    }
}
