namespace CashEvents.Api.Counts;

/// <summary>Whether a round of counts goes on.</summary>
public enum CountRoundState
{
    /// <summary>It takes figures and confirmations.</summary>
    Open,

    /// <summary>It is closed.</summary>
    Closed,
}

/// <summary>
/// A compartment in a round of counts. What is expected is absent in a blind round until the figure is in.
/// </summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
public sealed record RoundCompartmentAnswer(string Compartment, string Label, string Wallet)
{
    /// <summary>
    /// What the book expects: before the figure is in, the balance as it stands; after, what was there when it was
    /// counted, by what is known now.
    /// </summary>
    public decimal? Expected { get; init; }

    /// <summary>What was found.</summary>
    public decimal? Counted { get; init; }

    /// <summary>Counted minus expected: over when positive, short when negative.</summary>
    public decimal? Difference { get; init; }

    /// <summary>The count's id, by which it is settled.</summary>
    public long? CountId { get; init; }

    /// <summary>The day it was counted.</summary>
    public DateOnly? CountedOn { get; init; }

    /// <summary>The last line that was written when it was counted.</summary>
    public long? AtLine { get; init; }

    /// <summary>Name of the key that wrote the figure.</summary>
    public string? By { get; init; }

    /// <summary>Name of the other key that confirmed it.</summary>
    public string? ConfirmedBy { get; init; }

    /// <summary>What was found by denomination; absent where only a total was given.</summary>
    public IReadOnlyList<PiecesAnswer>? Denominations { get; init; }

    /// <summary>Counts of the round that this figure replaces.</summary>
    public IReadOnlyList<long>? EarlierCounts { get; init; }
}

/// <summary>So many notes or coins of one value over several compartments.</summary>
/// <param name="Value">Face value.</param>
/// <param name="Count">How many.</param>
/// <param name="Amount">What they are worth in total.</param>
public sealed record DenominationTotalAnswer(decimal Value, int Count, decimal Amount);

/// <summary>What was found over several compartments of a round; those without a figure are left out.</summary>
/// <param name="Counted">Found in total.</param>
/// <param name="Expected">Expected there in total.</param>
/// <param name="Difference">Counted minus expected.</param>
/// <param name="Denominations">The notes and coins found, largest first.</param>
/// <param name="WithoutDenominations">The part of what was found that was given as totals only.</param>
public sealed record RoundTotalAnswer(decimal Counted, decimal Expected, decimal Difference,
    IReadOnlyList<DenominationTotalAnswer> Denominations, decimal WithoutDenominations);

/// <summary>What was found in a wallet.</summary>
/// <param name="Wallet">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Total">Over its compartments of the round that have a figure.</param>
public sealed record RoundWalletAnswer(string Wallet, string Label, RoundTotalAnswer Total);

/// <summary>A round of counts at a glance.</summary>
/// <param name="Id">The round's id.</param>
/// <param name="State">Open or closed.</param>
/// <param name="Blind">Whether what is expected is told only once a figure is in.</param>
/// <param name="OpenedAt">The instant (UTC) at which it was opened.</param>
/// <param name="OpenedBy">Name of the key that opened it.</param>
/// <param name="Counted">Compartments that have a figure.</param>
/// <param name="ToCount">Compartments that are still to be counted, or were not when it was closed.</param>
public sealed record CountRoundSummaryAnswer(
    long Id, CountRoundState State, bool Blind, DateTimeOffset OpenedAt, string OpenedBy, IReadOnlyList<string> Counted,
    IReadOnlyList<string> ToCount)
{
    /// <summary>The wallet it was asked for.</summary>
    public string? Wallet { get; init; }

    /// <summary>The purpose it was asked for.</summary>
    public Purpose? Purpose { get; init; }

    /// <summary>The instant (UTC) at which it was closed.</summary>
    public DateTimeOffset? ClosedAt { get; init; }

    /// <summary>Why it was closed although something was not counted.</summary>
    public string? Reason { get; init; }

    internal static CountRoundSummaryAnswer Of(Book book, ReadRound read) => new(
        read.Round.Id,
        read.Closed is null ? CountRoundState.Open : CountRoundState.Closed,
        read.Round.Blind,
        read.Opened.RecordedAt,
        read.Opened.By,
        [.. read.Round.Compartments.Where(c => c.Count is not null).Select(c => c.Id)],
        [.. read.Closed is null
            ? read.Round.ToCount(book)
            : read.Round.Compartments.Where(c => c.Count is null).Select(c => c.Id)])
    {
        Wallet = read.Round.Wallet,
        Purpose = read.Round.Purpose,
        ClosedAt = read.Closed?.RecordedAt,
        Reason = (read.Closed?.Event as CountRoundClosed)?.Reason is { Length: > 0 } reason ? reason : null,
    };
}

/// <summary>Rounds of counts.</summary>
/// <param name="Open">Those that are open.</param>
/// <param name="Closed">Those that are closed, in the order in which they were.</param>
/// <param name="BookLine">The line at which the book stood.</param>
/// <param name="Next">Address of the next page of closed ones; absent on the last.</param>
public sealed record CountRoundsAnswer(IReadOnlyList<CountRoundSummaryAnswer> Open,
    IReadOnlyList<CountRoundSummaryAnswer> Closed, long BookLine, string? Next);

/// <summary>A round of counts: what is done, what is still to count, and the totals by denomination.</summary>
/// <param name="Round">The round at a glance.</param>
/// <param name="Currency">ISO 4217 code.</param>
/// <param name="Compartments">Each compartment, in the order of the household's lists.</param>
/// <param name="Wallets">What was found in each wallet.</param>
/// <param name="Total">What was found in all.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record CountRoundAnswer(
    CountRoundSummaryAnswer Round, string Currency, IReadOnlyList<RoundCompartmentAnswer> Compartments,
    IReadOnlyList<RoundWalletAnswer> Wallets, RoundTotalAnswer Total, long BookLine)
{
    internal static CountRoundAnswer Of(Book book, ReadRound read, IReadOnlyDictionary<long, BookLine> counts)
    {
        var currency = book.Currency;
        var compartments = read.Round.Compartments.Select(c => Of(c)).ToList();
        return new CountRoundAnswer(
            CountRoundSummaryAnswer.Of(book, read),
            currency.Code,
            compartments,
            [
                .. book.Wallets.Values.OrderBy(w => w.Line)
                    .Where(w => compartments.Exists(c => c.Wallet == w.Id))
                    .Select(w => new RoundWalletAnswer(w.Id, w.Label,
                        Total(compartments.Where(c => c.Wallet == w.Id)))),
            ],
            Total(compartments),
            book.Line);

        decimal Say(Money money) => currency.ToDecimal(money);

        RoundCompartmentAnswer Of(RoundCompartment counted)
        {
            var compartment = book.Compartments[counted.Id];
            var answer = new RoundCompartmentAnswer(counted.Id, compartment.Label, compartment.Wallet);
            if (counted.Count is not { } figure)
            {
                return read.Round.Blind || read.Closed is not null
                    ? answer
                    : answer with { Expected = Say(compartment.Cash) };
            }

            // While it is the last count of its place the book goes on learning what it should have found.
            var taken = (CountTaken)counts[figure.Line].Event;
            var expected = book.CashCount(compartment.Id) is { } last && last.Line == figure.Line
                ? last.Expected
                : taken.Expected;
            return answer with
            {
                Expected = Say(expected),
                Counted = Say(taken.Counted),
                Difference = Say(taken.Counted - expected),
                CountId = figure.Line,
                CountedOn = taken.OccurredOn,
                AtLine = figure.AtLine,
                By = figure.By,
                ConfirmedBy = figure.ConfirmedBy,
                Denominations = taken.Pieces.IsDefaultOrEmpty ? null : PiecesAnswer.Of(taken.Pieces, currency),
                EarlierCounts = counted.Earlier.IsDefaultOrEmpty ? null : counted.Earlier,
            };
        }

        RoundTotalAnswer Total(IEnumerable<RoundCompartmentAnswer> of)
        {
            var found = of.Where(c => c.CountId is not null).ToList();
            var zero = Say(Money.Zero);
            decimal Sum(Func<RoundCompartmentAnswer, decimal?> what) =>
                found.Aggregate(zero, (sum, c) => sum + what(c)!.Value);
            return new RoundTotalAnswer(
                Sum(c => c.Counted), Sum(c => c.Expected), Sum(c => c.Difference),
                [
                    .. found.SelectMany(c => c.Denominations ?? []).GroupBy(p => p.Value).OrderByDescending(g => g.Key)
                        .Select(g => new DenominationTotalAnswer(g.Key, g.Sum(p => p.Count),
                            g.Key * g.Sum(p => p.Count))),
                ],
                Sum(c => c.Denominations is null ? c.Counted : zero));
        }
    }
}

/// <summary>What was written about a round of counts.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="Id">The round's id.</param>
public sealed record CountRoundEntryAnswer(IReadOnlyList<long> Lines, long? EntryId, long Id)
{
    /// <summary>Compartments that have a figure.</summary>
    public IReadOnlyList<string>? Counted { get; init; }

    /// <summary>Compartments without one.</summary>
    public IReadOnlyList<string>? NotCounted { get; init; }

    /// <summary>Compartments whose figure a second person has confirmed.</summary>
    public IReadOnlyList<string>? Confirmed { get; init; }

    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

/// <summary>A figure of a round, as it was written.</summary>
/// <param name="Lines">Number of its line.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="Round">The round's id.</param>
/// <param name="Compartment">The compartment counted.</param>
/// <param name="CountId">The count's id, by which it is settled.</param>
/// <param name="CountedOn">The day it was counted.</param>
/// <param name="AtLine">The last line that was written when it was counted: later ones of that day are taken to have
/// happened after it.</param>
/// <param name="Expected">What was there then by the book.</param>
/// <param name="Counted">What was found.</param>
/// <param name="Difference">Counted minus expected: over when positive, short when negative.</param>
public sealed record RoundCountAnswer(
    IReadOnlyList<long> Lines, long EntryId, long Round, string Compartment, long CountId, DateOnly CountedOn,
    long AtLine, decimal Expected, decimal Counted, decimal Difference);
