namespace CashEvents.Api.Books;

/// <summary>A compartment and one of its holdings.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
public sealed record PlaceAnswer(string Compartment, Holding Holding)
{
    internal static PlaceAnswer Of(Place place) => new(place.Compartment, place.Holding);
}

/// <summary>So many notes or coins of one value.</summary>
/// <param name="Value">Face value.</param>
/// <param name="Count">How many.</param>
public sealed record PiecesAnswer(decimal Value, int Count)
{
    internal static IReadOnlyList<PiecesAnswer> Of(IEnumerable<Pieces> pieces, Currency currency) =>
        [.. pieces.Select(p => new PiecesAnswer(currency.ToDecimal(p.Value), p.Count))];
}

/// <summary>A change of one place.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Change">In is positive, out negative.</param>
public sealed record ChangeAnswer(string Compartment, Holding Holding, decimal Change);

/// <summary>What a place held when its month was closed.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Cash or bank.</param>
/// <param name="Wallet">The wallet that the compartment was in.</param>
/// <param name="Closing">Its balance.</param>
public sealed record ClosingAnswer(string Compartment, Holding Holding, string Wallet, decimal Closing);

/// <summary>
/// A line of the book: who, when recorded, when occurred, and what it says. Fields that its kind does not have are
/// absent.
/// </summary>
/// <param name="Line">Its number.</param>
/// <param name="EntryId">The entry it was written with: the number of the entry's first line.</param>
/// <param name="Kind">What it says, such as <c>spend</c>.</param>
/// <param name="RecordedAt">The instant (UTC) at which it was written.</param>
/// <param name="By">Name of the key that wrote it.</param>
public sealed partial record LineAnswer(long Line, long EntryId, string Kind, DateTimeOffset RecordedAt, string By)
{
    /// <summary>
    /// The places that it is about; where money or notes go from one to another, in that order. None where no
    /// compartment is named.
    /// </summary>
    internal IReadOnlyList<PlaceAnswer> AboutPlaces =>
        From is { } from && To is { } to ? [from, to]
        : Changes is { } changes ? [.. changes.OrderBy(c => c.Change)
            .Select(c => new PlaceAnswer(c.Compartment, c.Holding))]
        : Parts is { } parts ? [.. parts.Select(p => new PlaceAnswer(p.Compartment, Domain.Books.Holding.Bank))]
        : Compartment is not { } compartment || Holding is not { } holding ? []
        : With is { } with ? [new PlaceAnswer(compartment, holding), new PlaceAnswer(with, holding)]
        : [new PlaceAnswer(compartment, holding)];

    /// <summary>
    /// What a fill run brings several places, or what undoing it takes from them: nothing goes from one of them to
    /// another.
    /// </summary>
    internal decimal? OneWay =>
        Changes is { } changes && (changes.All(c => c.Change > 0) || changes.All(c => c.Change < 0))
            ? changes.Sum(c => c.Change)
            : null;

    /// <summary>
    /// Its hash, 64 hexadecimal digits, which covers it and every line before it; absent when it was written before
    /// lines had one.
    /// </summary>
    public string? Hash { get; init; }

    /// <summary>The household's date on which it happened.</summary>
    public DateOnly? OccurredOn { get; init; }

    /// <summary>The compartment it is about.</summary>
    public string? Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public Holding? Holding { get; init; }

    /// <summary>Where money came from, in a transfer or sweep.</summary>
    public PlaceAnswer? From { get; init; }

    /// <summary>Where money went, in a transfer or sweep.</summary>
    public PlaceAnswer? To { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public decimal? Amount { get; init; }

    /// <summary>What was written beside it.</summary>
    public string? Description { get; init; }

    /// <summary>What a count or a bank statement expected.</summary>
    public decimal? Expected { get; init; }

    /// <summary>What a count found, or the bank states.</summary>
    public decimal? Counted { get; init; }

    /// <summary>Counted minus expected; what a settlement posted.</summary>
    public decimal? Difference { get; init; }

    /// <summary>What a count found by denomination.</summary>
    public IReadOnlyList<PiecesAnswer>? Denominations { get; init; }

    /// <summary>Who else was at a count.</summary>
    public string? Witness { get; init; }

    /// <summary>The round of counts that it belongs to, or is about.</summary>
    public long? Round { get; init; }

    /// <summary>For a count of a round: the last line that was written when it was taken.</summary>
    public long? AtLine { get; init; }

    /// <summary>Whether a round of counts hides what is expected until a figure is in.</summary>
    public bool? Blind { get; init; }

    /// <summary>The compartments that a round of counts is to count.</summary>
    public IReadOnlyList<string>? Compartments { get; init; }

    /// <summary>The counts of a round that are confirmed, or with which it is closed.</summary>
    public IReadOnlyList<long>? Counts { get; init; }

    /// <summary>The compartments that were not counted when a round was closed.</summary>
    public IReadOnlyList<string>? NotCounted { get; init; }

    /// <summary>The handover that it brings back, or from or to whose notes it moves money.</summary>
    public long? Handover { get; init; }

    /// <summary>Who carries cash from a handover on.</summary>
    public string? Carrier { get; init; }

    /// <summary>
    /// What it changes in the notes that somebody carries: into their hands is positive, out of them negative.
    /// </summary>
    public decimal? Carried { get; init; }

    /// <summary>The household's limit for cash at home.</summary>
    public decimal? CashAtHomeLimit { get; init; }

    /// <summary>The household's limit for what one person carries.</summary>
    public decimal? CarriedLimit { get; init; }

    /// <summary>The place that is named.</summary>
    public string? Place { get; init; }

    /// <summary>Whether that place is at home.</summary>
    public bool? AtHome { get; init; }

    /// <summary>The wallets that lie in that place.</summary>
    public IReadOnlyList<string>? Wallets { get; init; }

    /// <summary>The day since which they are said to.</summary>
    public DateOnly? Since { get; init; }

    /// <summary>The other compartment of an exchange.</summary>
    public string? With { get; init; }

    /// <summary>The pieces that the compartment of an exchange gives to the other.</summary>
    public IReadOnlyList<PiecesAnswer>? Gives { get; init; }

    /// <summary>The pieces that it gets back.</summary>
    public IReadOnlyList<PiecesAnswer>? Takes { get; init; }

    /// <summary>The values that a compartment prefers.</summary>
    public IReadOnlyList<decimal>? Prefer { get; init; }

    /// <summary>The values that it avoids.</summary>
    public IReadOnlyList<decimal>? Avoid { get; init; }

    /// <summary>The values of which it needs at least so many.</summary>
    public IReadOnlyList<PiecesAnswer>? AtLeast { get; init; }

    /// <summary>The count that a settlement settles.</summary>
    public long? CountId { get; init; }

    /// <summary>The bank statement that a settlement settles; of a statement, its own id.</summary>
    public long? StatementId { get; init; }

    /// <summary>For a bank statement: what each compartment had in the bank.</summary>
    public IReadOnlyList<BankPartAnswer>? Parts { get; init; }

    /// <summary>
    /// For a bank statement: whether it states the balance at the end of its day, since it was read on a later one.
    /// </summary>
    public bool? AtDaysEnd { get; init; }

    /// <summary>The earlier line that this one undoes.</summary>
    public long? Reverses { get; init; }

    /// <summary>The earlier line in whose stead this one stands.</summary>
    public long? Amends { get; init; }

    /// <summary>The reversal that undoes this line.</summary>
    public long? ReversedBy { get; init; }

    /// <summary>The line that stands in this one's stead.</summary>
    public long? AmendedBy { get; init; }

    /// <summary>
    /// The later line that says that this one was stamped by a clock that was ahead: it was written before that line,
    /// and <c>recordedAt</c> is not to be believed.
    /// </summary>
    public long? ClockAhead { get; init; }

    /// <summary>The first line that was stamped by a clock that was ahead.</summary>
    public long? FromLine { get; init; }

    /// <summary>The last line that was stamped by that clock.</summary>
    public long? ToLine { get; init; }

    /// <summary>The household's date on which that was said, by a clock that was set right.</summary>
    public DateOnly? On { get; init; }

    /// <summary>
    /// Why it stands in the stead of what a reversal has undone; beside other corrections the reversal says why. Why
    /// the program leaves a payday.
    /// </summary>
    public string? Reason { get; init; }

    /// <summary>For a correction of a line of a closed month: the day that it belongs to.</summary>
    public DateOnly? ClosedDay { get; init; }

    /// <summary>
    /// For a fill run: what each place gets. For a reversal: the changes it makes, each the other way round than the
    /// line it undoes.
    /// </summary>
    public IReadOnlyList<ChangeAnswer>? Changes { get; init; }

    /// <summary>First day of the first week that a plan holds for.</summary>
    public DateOnly? PlannedFrom { get; init; }

    /// <summary>Weekly amounts by compartment, as a plan sets them.</summary>
    public IReadOnlyDictionary<string, decimal>? Amounts { get; init; }

    /// <summary>The income source it is about.</summary>
    public string? Source { get; init; }

    /// <summary>The standing payment it is about.</summary>
    public string? Payment { get; init; }

    /// <summary>What a standing payment is for.</summary>
    public StandingPaymentKind? PaymentKind { get; init; }

    /// <summary>Recurrence rule (RFC 5545) of an income source or standing payment.</summary>
    public string? Rule { get; init; }

    /// <summary>The first day of that recurrence.</summary>
    public DateOnly? First { get; init; }

    /// <summary>When its money moves if the day is no bank day.</summary>
    public NotBankDay? NotBankDay { get; init; }

    /// <summary>The payday that a fill run fills, is undone for, or that is left.</summary>
    public DateOnly? Payday { get; init; }

    /// <summary>What a fill run was worked out from: the pay of that day.</summary>
    public decimal? Pay { get; init; }

    /// <summary>What a fill rule gives its compartment.</summary>
    public FillRuleKind? FillRule { get; init; }

    /// <summary>The share of a fill rule, in percent.</summary>
    public decimal? Share { get; init; }

    /// <summary>The balance above which a compartment is never filled.</summary>
    public decimal? Ceiling { get; init; }

    /// <summary>The rank of a fill rule; 1 is filled first.</summary>
    public int? Rank { get; init; }

    /// <summary>The step in which a compartment is filled.</summary>
    public decimal? RoundTo { get; init; }

    /// <summary>The household's local time at which the program fills by itself, such as <c>06:30</c>.</summary>
    public string? FillsAt { get; init; }

    /// <summary>The first day whose payday the program fills by itself.</summary>
    public DateOnly? FillsFrom { get; init; }

    /// <summary>How many days after each payday the program fills; absent for the payday itself.</summary>
    public int? FillsDaysAfter { get; init; }

    /// <summary>The goal that is set or removed, or whose bill a spend pays.</summary>
    public string? Goal { get; init; }

    /// <summary>The first due date of a goal or a saving plan, or that of the bill that a spend pays.</summary>
    public DateOnly? Due { get; init; }

    /// <summary>The period from one due date of a goal or a saving plan to the next, as an ISO 8601 duration.</summary>
    public string? Every { get; init; }

    /// <summary>The day from which a goal's first bill is saved for.</summary>
    public DateOnly? SavedSince { get; init; }

    /// <summary>Amounts of a goal that differ, by due date.</summary>
    public IReadOnlyDictionary<DateOnly, decimal>? DueAmounts { get; init; }

    /// <summary>How much of a sinking fund's contributions goes to the bank, in percent.</summary>
    public int? BankPercent { get; init; }

    /// <summary>What the bank part of a sinking fund earns in a year, in percent.</summary>
    public decimal? InterestPercent { get; init; }

    /// <summary>The line of the saving plan whose step a fill does.</summary>
    public long? SavingPlan { get; init; }

    /// <summary>The number of that step.</summary>
    public int? Step { get; init; }

    /// <summary>
    /// The face value of the notes or coins of a count that a transfer sets aside; the count is beside it.
    /// </summary>
    public decimal? SetsAside { get; init; }

    /// <summary>The steps of a saving plan, in order.</summary>
    public IReadOnlyList<decimal>? Steps { get; init; }

    /// <summary>The month that was closed or reopened.</summary>
    public string? Month { get; init; }

    /// <summary>What each place held when its month was closed.</summary>
    public IReadOnlyList<ClosingAnswer>? Closing { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public string? Label { get; init; }

    /// <summary>The wallet it is about.</summary>
    public string? Wallet { get; init; }

    /// <summary>A compartment's purpose.</summary>
    public Purpose? Purpose { get; init; }

    /// <summary>The household's or a key's name.</summary>
    public string? Name { get; init; }

    /// <summary>A key's role.</summary>
    public Role? Role { get; init; }

    /// <summary>The movements that a script's key may write.</summary>
    public IReadOnlyList<MovementKind>? Movements { get; init; }

    /// <summary>The instant from which a key is no longer accepted.</summary>
    public DateTimeOffset? Expires { get; init; }

    /// <summary>The household's currency.</summary>
    public string? Currency { get; init; }

    /// <summary>The household's time zone.</summary>
    public string? TimeZone { get; init; }

    /// <summary>The day the household's week starts on.</summary>
    public DayOfWeek? FirstDayOfWeek { get; init; }

    /// <summary>The country whose bank holidays count.</summary>
    public string? Country { get; init; }

    /// <summary>The smallest note or coin that is drawn, where the household is described.</summary>
    public decimal? SmallestNote { get; init; }

    /// <summary>The largest.</summary>
    public decimal? LargestNote { get; init; }
}
