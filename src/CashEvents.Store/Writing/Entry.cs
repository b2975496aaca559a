using System.Collections.Immutable;

namespace CashEvents.Store.Writing;

/// <summary>A place and what it holds after an entry.</summary>
/// <param name="Place">Compartment and holding.</param>
/// <param name="Balance">What it holds.</param>
public sealed record PartBalance(Part Place, Money Balance);

/// <summary>Notes of a compartment.</summary>
/// <param name="Wishes">In which it would have its cash.</param>
/// <param name="Known">Which it has; null while that is not known.</param>
public sealed record WishedNotes(NoteWishes Wishes, KnownNotes? Known);

/// <summary>
/// What one command wrote, kept with its idempotency key so that a repeated request gets the same answer.
/// </summary>
/// <param name="Id">Number of its first line; null when it wrote none.</param>
/// <param name="Lines">Line numbers, in order.</param>
/// <param name="BookLine">The book's last line after it.</param>
/// <param name="Balances">The places it touched, each once, as it left them.</param>
public sealed record Entry(long? Id, ImmutableArray<long> Lines, long BookLine, ImmutableArray<PartBalance> Balances)
{
    /// <summary>
    /// ISO 4217 code of the household's currency then, in which its amounts are told; empty when it had named none,
    /// null in an entry that was kept before this was.
    /// </summary>
    public string? CurrencyCode { get; init; }

    /// <summary>The household as it left it, when it is about that.</summary>
    public Household? Household { get; init; }

    /// <summary>The wallet it opened or changed.</summary>
    public Wallet? Wallet { get; init; }

    /// <summary>The compartment it opened or changed, as it left it.</summary>
    public Compartment? Compartment { get; init; }

    /// <summary>The notes that a compartment wishes for and has, as it left them.</summary>
    public WishedNotes? Notes { get; init; }

    /// <summary>The key it issued or revoked.</summary>
    public Key? Key { get; init; }

    /// <summary>The count it took.</summary>
    public LastCount? Count { get; init; }

    /// <summary>The round of counts that it opened, confirmed figures of or closed, as it left it.</summary>
    public CountRound? CountRound { get; init; }

    /// <summary>The handover that it wrote, or brought back.</summary>
    public Handover? Handover { get; init; }

    /// <summary>What whoever wrote it should know.</summary>
    public ImmutableArray<Caution> Cautions { get; init; } = [];

    /// <summary>The goal it set.</summary>
    public Goal? Goal { get; init; }

    /// <summary>The bank statement it read; the entry's line is its id.</summary>
    public BankStatementRead? BankStatement { get; init; }

    /// <summary>The saving plan it set.</summary>
    public SavingPlan? SavingPlan { get; init; }

    /// <summary>The fill run it wrote.</summary>
    public PaydayFilled? FillRun { get; init; }

    /// <summary>
    /// What was written on the compartments that its fill run fills; null in an entry that was kept before this was.
    /// </summary>
    public ImmutableDictionary<string, string>? FilledLabels { get; init; }

    /// <summary>
    /// What its sweep took of each compartment and left there; null where it has none, and in an entry that was kept
    /// before this was.
    /// </summary>
    public ImmutableArray<SweptPart>? Swept { get; init; }

    /// <summary>The household's currency then; null when it had named none.</summary>
    /// <param name="book">The book now, for an entry that does not say.</param>
    public Currency? CurrencyThen(Book book) => CurrencyCode switch
    {
        null => book.Household?.Currency,
        "" => null,
        var code => Currency.Of(code),
    };

    /// <summary>
    /// What a command wrote: <paramref name="events"/> are the lines that lead from <paramref name="before"/> to
    /// <paramref name="after"/>.
    /// </summary>
    internal static Entry Of(Book before, IReadOnlyList<IBookEvent> events, Book after)
    {
        var first = before.Line + 1;
        var entry = new Entry(
            events.Count > 0 ? first : null,
            [.. Enumerable.Range(0, events.Count).Select(i => first + i)],
            after.Line,
            [
                .. events.SelectMany(Places).Distinct()
                    .Select(part => new PartBalance(part,
                        after.Compartments[part.Compartment].Balance(part.Holding))),
            ])
        {
            CurrencyCode = after.Household?.Currency?.Code ?? "",
        };
        return events.Aggregate(entry, (e, line) => line switch
        {
            HouseholdDescribed => e with { Household = after.Household },
            WalletOpened w => e with { Wallet = after.Wallets[w.Wallet] },
            WalletRelabelled w => e with { Wallet = after.Wallets[w.Wallet] },
            WalletClosed w => e with { Wallet = after.Wallets[w.Wallet] },
            WalletReopened w => e with { Wallet = after.Wallets[w.Wallet] },
            CountTaken c => e with
            {
                Count = new LastCount(after.Line, c.OccurredOn, c.Expected, c.Counted)
                { AtLine = c.InRound?.AtLine ?? before.Line }
            },
            BankStatementRead b => e with { BankStatement = b },
            CountRoundOpened => e with { CountRound = after.CountRounds.GetValueOrDefault(first) },
            CountsConfirmed c => e with { CountRound = after.CountRounds[c.Round] },
            CountRoundClosed c => e with { CountRound = AsItWas(c) },
            HandedOver h => e with
            {
                Handover = after.Handovers[h.Compartment],
                Cautions = [.. Caution.Carried(after, h.Carrier)]
            },
            HandoverReturned r => e with { Handover = before.Handovers[r.Compartment] with { Moved = [] } },
            SavingPlanSet s => e with { SavingPlan = after.SavingPlans[s.Compartment] },
            PaydayFilled f => e with
            {
                FillRun = f,
                FilledLabels = f.Run.Fills.ToImmutableDictionary(fill => fill.Compartment,
                    fill => after.Compartments[fill.Compartment].Label)
            },
            GoalSet g => e with { Goal = after.Goals[g.Goal] },
            KeyIssued k => e with { Key = after.Keys[k.Name] },
            KeyRevoked k => e with { Key = after.Keys[k.Name] },
            CompartmentOpened or CompartmentRelabelled or CompartmentMoved or CompartmentClosed
                or CompartmentReopened =>
                e with { Compartment = after.Compartments[line.About.Single()] },
            NotesWished n => e with
            {
                Notes = new WishedNotes(after.NoteWishesOf(n.Compartment),
                after.NotesOf(n.Compartment))
            },
            _ => e,
        });

        // A round that was opened in the same entry is not in the book before it, nor in the one after.
        CountRound AsItWas(CountRoundClosed closed) =>
            before.CountRounds.GetValueOrDefault(closed.Round) ?? events
                .TakeWhile(line => line is not CountRoundClosed).Aggregate(before, (book, line) => book.Apply(line))
                .CountRounds[closed.Round];
    }

    private static IEnumerable<Part> Places(IBookEvent line) => line switch
    {
        IMovement movement => movement.Postings.Select(p => p.Place),
        CountTaken count => [new Part(count.Compartment, count.Holding)],
        BankStatementRead statement => statement.About.Select(compartment => new Part(compartment, Holding.Bank)),
        HandedOver handover => [new Part(handover.Compartment, Holding.Cash)],
        NotesExchanged exchange => exchange.About.Select(compartment => new Part(compartment, Holding.Cash)),
        _ => [],
    };
}

/// <summary>One command of a request.</summary>
/// <param name="Command">What to write.</param>
/// <param name="IdempotencyKey">The sender's name for it; the same name writes once.</param>
/// <param name="Fingerprint">Hash of what was sent under that name; null only without a name.</param>
public sealed record EntryRequest(ICommand Command, string? IdempotencyKey = null, byte[]? Fingerprint = null)
{
    /// <summary>The code of the refusal of a name that was used for another request.</summary>
    public const string KeyReused = "idempotency-key-reused";
}

/// <summary>What became of one command: exactly one of entry and refusal is set.</summary>
/// <param name="Entry">What was written, now or under the same idempotency key before.</param>
/// <param name="Refusal">Why nothing was.</param>
public sealed record Outcome(Entry? Entry, Refusal? Refusal)
{
    /// <summary>In order by itself, but another of those that were to be written together was refused.</summary>
    public static Outcome WithTheOthers { get; } = new(null, new Refusal(
        RefusalSort.Conflict, "not-written-with-others",
        "This one is in order, but another of the batch was refused and all were to be written or none: mend that one "
            + "and send the batch again."));
}

/// <summary>A request's outcomes, in its order, and the book they leave.</summary>
/// <param name="Outcomes">One for each command.</param>
/// <param name="Book">The book after them.</param>
public sealed record WriteResult(ImmutableArray<Outcome> Outcomes, Book Book);

/// <summary>A request to write in a household's book.</summary>
/// <param name="Household">Whose book.</param>
/// <param name="By">Name of the key that asks.</param>
/// <param name="Entries">The commands, in order.</param>
/// <param name="Together">All or nothing: one refusal and none is written.</param>
/// <param name="IfLines">Write only while one of these is the book's last line; null for whatever line.</param>
/// <param name="KeyHash">Hash of the key that asks, which the book must know at that moment and whose rights every line
/// is held against; null for the program itself, which may write any.</param>
public sealed record WriteRequest(string Household, string By, ImmutableArray<EntryRequest> Entries,
    bool Together = true, ImmutableArray<long>? IfLines = null, string? KeyHash = null);
