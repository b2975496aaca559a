using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Explanations;

/// <summary>The kinds of mistake that make a count disagree.</summary>
public enum MistakeKind
{
    /// <summary>A movement was not recorded.</summary>
    NotRecorded,

    /// <summary>A movement was recorded twice.</summary>
    RecordedTwice,

    /// <summary>A movement was recorded in the wrong direction.</summary>
    WrongDirection,

    /// <summary>A movement was recorded in the wrong compartment.</summary>
    WrongCompartment,

    /// <summary>Two neighbouring figures of an amount changed places.</summary>
    Transposed,

    /// <summary>The point of an amount slid by one place or two.</summary>
    Slid,

    /// <summary>An amount was rounded when it was written.</summary>
    Rounded,

    /// <summary>One figure of an amount was mistyped.</summary>
    WrongFigure,

    /// <summary>A movement of cash was recorded in the bank part, or the other way.</summary>
    WrongHolding,

    /// <summary>A movement was dated on the wrong side of the count.</summary>
    WrongDay,

    /// <summary>A note or coin was counted as its neighbour.</summary>
    WrongDenomination,

    /// <summary>One note or coin too few or too many was counted.</summary>
    PiecesMiscounted,

    /// <summary>Too much or too little change was given.</summary>
    WrongChange,

    /// <summary>Lines were recorded whose money did not move.</summary>
    NotMoved,
}

/// <summary>One mistake that may have been made.</summary>
/// <param name="Kind">Which kind.</param>
/// <param name="Lines">The lines it rests on.</param>
public abstract record Mistake(MistakeKind Kind, ImmutableArray<long> Lines)
{
    /// <summary>By how much the count of each place is over because of it; short is negative.</summary>
    public abstract ImmutableArray<Posting> Effects { get; }

    /// <summary>How much speaks for it, as docs/explanations.md has it; of use only beside others.</summary>
    internal decimal Weight { get; init; }

    /// <summary>Names it among all that could explain a count; the same as long as the book is.</summary>
    public abstract string Code { get; }

    /// <summary>What happened, in words.</summary>
    public abstract string Say(Book book);

    /// <summary>What puts it right, one after another.</summary>
    internal abstract ImmutableArray<ICommand> Mend(Book book);

    /// <summary>Whether it was made when the count was taken, so that the count is written anew.</summary>
    internal virtual bool IsInCount => false;

    /// <summary>The day from which its effect is there.</summary>
    internal abstract DateOnly Day { get; }

    /// <summary>Its effect in one place.</summary>
    internal Money EffectIn(Part part)
    {
        var sum = Money.Zero;
        foreach (var effect in Effects)
        {
            sum += effect.Place == part ? effect.Amount : Money.Zero;
        }

        return sum;
    }

    /// <summary>The kind as it is written in codes.</summary>
    protected string Word => char.ToLowerInvariant(Kind.ToString()[0]) + Kind.ToString()[1..];

    /// <summary>A number in a code or a sentence.</summary>
    protected static string Text(long number) => number.ToString(CultureInfo.InvariantCulture);

    /// <summary>Places, for a code.</summary>
    protected static string Text(IEnumerable<Part> parts) =>
        string.Join('-', parts.Select(p => $"{p.Compartment}-{p.Holding.ToString().ToLowerInvariant()}"));
}

/// <summary>A movement that is not in the book.</summary>
/// <param name="Movement">What should be there.</param>
/// <param name="SeenBefore">How often its amount was recorded with these words; 0 when the words are not known.</param>
/// <param name="CountedThen">The count, when the movement can only be dated on its own day: lines of that day are taken
/// to have happened after a count, so it is taken again after it.</param>
public sealed record NotRecorded(IReplacement Movement, int SeenBefore, CountTaken? CountedThen)
    : Mistake(MistakeKind.NotRecorded, [])
{
    /// <summary>
    /// What stands in a code before the lines that the movement may be: who accepts it says that it is none of them.
    /// </summary>
    public const string Beside = "-beside-";

    /// <summary>
    /// Lines of the book that may be this movement, on a later day or in another place: each with what was done wrong
    /// then.
    /// </summary>
    public ImmutableArray<Mistake> MayBe { get; init; } = [];

    /// <inheritdoc />
    public override ImmutableArray<Posting> Effects => [.. Movement.Postings];

    internal override DateOnly Day => Movement.OccurredOn;

    /// <inheritdoc />
    public override string Code =>
        $"{Word}-{Retold.Kind(Movement)}-{Text(Movement.Postings.Select(p => p.Place))}-"
            + Text(Retold.Amount(Movement).Minor)
            + (MayBe.IsEmpty ? "" : $"{Beside}{string.Join('-', MayBe.Select(m => Text(m.Lines[0])))}");

    /// <inheritdoc />
    public override string Say(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        var (first, last) = (Movement.Postings.First(), Movement.Postings.Last());
        var where = first == last
            ? $"{(first.Amount < Money.Zero ? "from" : "to")} the {first.Place}"
            : $"from the {first.Place} to the {last.Place}";
        var seen = SeenBefore > 0
            ? $" \"{Movement.Description}\" had that amount "
                + $"{(SeenBefore == 1 ? "once" : $"{Text(SeenBefore)} times")} before."
            : "";
        var there = string.Concat(MayBe.OfType<Miswritten>()
            .Select((m, i) => i == 0 ? $" It may be {Retold.Say(book, m.Line, m.Written)}: is it the same?"
                : $" Or line {Text(m.Line)}."));
        var day = CountedThen is null
            ? " The day is the likeliest of those before the count: put the right one in. If it was on the day of the "
                + "count, write it and count again."
            : " On that day a line is taken to have happened after the count, so the count is written once more after "
                + "it.";
        return $"A {Retold.Kind(Movement)} of {book.Say(Retold.Amount(Movement))} {where} was not recorded."
            + $"{seen}{there}{day}";
    }

    internal override ImmutableArray<ICommand> Mend(Book book)
    {
        var recorded = Retold.Command(Movement, book, Movement.OccurredOn);
        return CountedThen is null ? [recorded] : [recorded, Retold.Again(CountedThen, book)];
    }
}

/// <summary>A line that should say something else.</summary>
/// <param name="Kind">How it came to be wrong.</param>
/// <param name="Line">Its number.</param>
/// <param name="Written">What it says.</param>
/// <param name="Right">What it should say.</param>
public sealed record Miswritten(MistakeKind Kind, long Line, IReplacement Written, IReplacement Right)
    : Mistake(Kind, [Line])
{
    /// <inheritdoc />
    public override ImmutableArray<Posting> Effects =>
        Kind == MistakeKind.WrongDay ? [.. Right.Postings.Select(p => IsLater ? p with { Amount = -p.Amount } : p)]
        : Retold.OnlyPosting(Written) is { } before && Retold.OnlyPosting(Right) is { } after
            && before.Place == after.Place
            ? [after with { Amount = after.Amount - before.Amount }]
            : [
                .. Right.Postings.Concat(Written.Postings.Select(p => p with { Amount = -p.Amount }))
                    .GroupBy(p => p.Place).Select(
                        g => new Posting(g.Key, g.Aggregate(Money.Zero, (sum, p) => sum + p.Amount)))
                        .Where(p => p.Amount != Money.Zero),
            ];

    /// <inheritdoc />
    public override string Code => Kind switch
    {
        MistakeKind.WrongDirection => $"{Word}-{Text(Line)}-{Retold.Kind(Right)}",
        MistakeKind.WrongCompartment or MistakeKind.WrongHolding =>
            $"{Word}-{Text(Line)}-{Text(Effects.Select(e => e.Place))}",
        MistakeKind.WrongDay => $"{Word}-{Text(Line)}",
        _ => $"{Word}-{Text(Line)}-{Text(Retold.Amount(Right).Minor)}",
    };

    /// <inheritdoc />
    public override string Say(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        var (line, right) = (Retold.Say(book, Line, Written), book.Say(Retold.Amount(Right)));
        return Kind switch
        {
            MistakeKind.WrongDirection =>
                $"The money of {line} went the other way: it was a {Retold.Kind(Right)}{Ends()}.",
            MistakeKind.WrongCompartment or MistakeKind.WrongHolding =>
                $"The money of {line} moved in another place: it was a {Retold.Kind(Right)}{Ends()}.",
            MistakeKind.WrongDay => $"The money of {line} moved {(IsLater ? "after" : "before")} the count, and the "
                + $"line stands on the wrong side of it. {Right.OccurredOn:O} is the nearest day: put the right one "
                + "in.",
            MistakeKind.Rounded => $"In {line} the amount was rounded: it was {right}.",
            MistakeKind.WrongFigure => $"In {line} one figure is wrong: it was {right}.",
            MistakeKind.Transposed => $"In {line} two figures changed places: it was {right}.",
            MistakeKind.Slid => $"In {line} the point slid: it was {right}.",
            _ => $"Of {line} {(Retold.Amount(Right) > Retold.Amount(Written) ? "too little" : "too much")} change came "
                + $"back: {right} left in all. Any other spend since the last count that agreed may be the one.",
        };
    }

    internal override ImmutableArray<ICommand> Mend(Book book) =>
        [new AmendLine(Line, Written,
            Retold.Command(Right, book, Right.OccurredOn == Written.OccurredOn ? null : Right.OccurredOn), Kind switch
    {
        MistakeKind.WrongDirection => "Recorded in the wrong direction",
        MistakeKind.WrongCompartment or MistakeKind.WrongHolding => "Recorded in the wrong place",
        MistakeKind.WrongDay => "Dated on the wrong side of the count",
        MistakeKind.Rounded => "The amount was rounded",
        MistakeKind.WrongFigure => "One figure was wrong",
        MistakeKind.Transposed => "Two figures changed places",
        MistakeKind.Slid => "The point slid",
        _ => "The change was wrong",
    })];

    internal override DateOnly Day => IsLater ? Written.OccurredOn : Right.OccurredOn;

    /// <summary>Whether the right day comes after the written one.</summary>
    internal bool IsLater => Right.OccurredOn > Written.OccurredOn;

    private string Ends() => string.Join(" and",
        Right.Postings.Select(p => $" {(p.Amount < Money.Zero ? "from" : "to")} the {p.Place}"));
}

/// <summary>Lines that should not be there.</summary>
/// <param name="Kind">Recorded twice, or not moved.</param>
/// <param name="Written">Each with its number.</param>
/// <param name="Twin">The line that says the same, when it was recorded twice.</param>
public sealed record NeedlesslyRecorded(MistakeKind Kind, ImmutableArray<(long Line, IReplacement Said)> Written,
    long? Twin)
    : Mistake(Kind, [.. Written.Select(w => w.Line), .. Twin is { } twin ? [twin] : Array.Empty<long>()])
{
    /// <inheritdoc />
    public override ImmutableArray<Posting> Effects =>
        [.. Written.SelectMany(w => w.Said.Postings).GroupBy(p => p.Place)
            .Select(g => new Posting(g.Key, g.Aggregate(Money.Zero, (sum, p) => sum - p.Amount)))
            .Where(p => p.Amount != Money.Zero)];

    internal override DateOnly Day => Written.Min(w => w.Said.OccurredOn);

    /// <inheritdoc />
    public override string Code => $"{Word}-{string.Join('-', Written.Select(w => Text(w.Line)))}";

    /// <inheritdoc />
    public override string Say(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        var lines = string.Join(", ", Written.Select(w => Retold.Say(book, w.Line, w.Said)));
        return Twin is { } twin ? $"One movement was recorded twice, in line {Text(twin)} and in {lines}."
            : Written.Length == 1 ? $"The money of {lines} did not move."
            : $"The money of these lines did not move, or moved elsewhere: {lines}.";
    }

    internal override ImmutableArray<ICommand> Mend(Book book) =>
        [.. Written.Select(w => new ReverseLine(w.Line, w.Said,
            Twin is { } twin ? $"Recorded twice, also in line {Text(twin)}" : "The money did not move"))];
}

/// <summary>A count in which a note or coin was taken for its neighbour, missed, or counted twice.</summary>
/// <param name="Line">The line of the count.</param>
/// <param name="Taken">What it says.</param>
/// <param name="As">The value it was counted as; zero where it was missed.</param>
/// <param name="Is">The value it has; zero where it is not there.</param>
public sealed record Miscounted(long Line, CountTaken Taken, Money As, Money Is)
    : Mistake(As == Money.Zero || Is == Money.Zero ? MistakeKind.PiecesMiscounted : MistakeKind.WrongDenomination,
        [Line])
{
    /// <inheritdoc />
    public override ImmutableArray<Posting> Effects =>
        [new Posting(new Part(Taken.Compartment, Taken.Holding), As - Is)];

    internal override DateOnly Day => Taken.OccurredOn;

    internal override bool IsInCount => true;

    /// <inheritdoc />
    public override string Code => $"{Word}-{Text(As.Minor)}-{Text(Is.Minor)}";

    /// <inheritdoc />
    public override string Say(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        var what = As == Money.Zero ? $"one {book.Say(Is)} was missed; two may have stuck together"
            : Is == Money.Zero ? $"one {book.Say(As)} was counted twice"
            : $"a {book.Say(Is)} was taken for a {book.Say(As)}";
        return $"In the count {what}. Look through the notes and coins once more before it is written."
            + Retold.SayMoved(Taken, book);
    }

    internal override ImmutableArray<ICommand> Mend(Book book) =>
        [Retold.Again(Taken with { Counted = Taken.Counted + Is - As, Pieces = Pieces() }, book)];

    private ImmutableArray<Pieces> Pieces() => Taken.Pieces.IsDefaultOrEmpty ? [] :
    [
        .. Taken.Pieces.Append(new Pieces(Is, 1)).Append(new Pieces(As, -1))
            .GroupBy(p => p.Value).Select(g => new Pieces(g.Key, g.Sum(p => p.Count)))
            .Where(p => p.Count > 0 && p.Value > Money.Zero).OrderByDescending(p => p.Value),
    ];
}

/// <summary>A count whose total was written wrong.</summary>
/// <param name="Kind">What became of it: figures changed places, the point slid, it was rounded, or one figure is
/// wrong.</param>
/// <param name="Line">The line of the count.</param>
/// <param name="Taken">What it says.</param>
/// <param name="Right">The total that was found.</param>
public sealed record Misstated(MistakeKind Kind, long Line, CountTaken Taken, Money Right) : Mistake(Kind, [Line])
{
    /// <inheritdoc />
    public override ImmutableArray<Posting> Effects =>
        [new Posting(new Part(Taken.Compartment, Taken.Holding), Taken.Counted - Right)];

    internal override DateOnly Day => Taken.OccurredOn;

    internal override bool IsInCount => true;

    /// <inheritdoc />
    public override string Code => $"{Word}-{Text(Line)}-{Text(Right.Minor)}";

    /// <inheritdoc />
    public override string Say(Book book)
    {
        ArgumentNullException.ThrowIfNull(book);
        var what = Kind switch
        {
            MistakeKind.Transposed => "two figures changed places",
            MistakeKind.Slid => "the point slid",
            MistakeKind.Rounded => "the total was rounded",
            _ => "one figure is wrong",
        };
        return $"In the count, which says {book.Say(Taken.Counted)}, {what}: it was {book.Say(Right)}. Count once more "
            + "before it is written." + Retold.SayMoved(Taken, book);
    }

    internal override ImmutableArray<ICommand> Mend(Book book) =>
        [Retold.Again(Taken with { Counted = Right }, book)];
}
