using System.Globalization;

namespace CashEvents.Domain.Explanations;

/// <summary>Why a mistake is likely, and what to look at to be sure, in words.</summary>
internal sealed class Reasons(Book book, CountedPlace counted)
{
    /// <summary>What points to the mistakes of an explanation.</summary>
    /// <param name="mistakes">The mistakes.</param>
    /// <param name="others">How many other counts they make agree.</param>
    public string Why(IReadOnlyList<Mistake> mistakes, int others)
    {
        var why = mistakes.Count == 1
            ? Why(mistakes[0])
            : "No one of them makes it alone. " + string.Join(" ",
                mistakes.Select(m => $"{Signed(m)}: {Lower(Why(m))}"));
        return others == 0 ? why
            : $"{why} {(others == 1 ? "Another count" : $"{Text(others)} other counts")} of that day would agree with "
                + "it too.";
    }

    /// <summary>What to look at to be sure.</summary>
    public string Look(IReadOnlyList<Mistake> mistakes) => string.Join(" ", mistakes.Select(Look).Distinct());

    private string Why(Mistake mistake) => mistake switch
    {
        NotRecorded n => Missing(n),
        NeedlesslyRecorded { Twin: { } twin, Written: [var (line, said), ..] } =>
            $"The whole of it, {book.Say(Retold.Amount(said))}, stands in line {Text(line)}, and line {Text(twin)} "
                + "says the same.",
        NeedlesslyRecorded { Written.Length: 1 } n =>
            $"The whole of it stands in line {Text(n.Written[0].Line)}.",
        NeedlesslyRecorded n =>
            $"Lines {string.Join(", ", n.Written.Select(w => Text(w.Line)))} add up to it, and stand close together.",
        Miscounted { Kind: MistakeKind.PiecesMiscounted } m =>
            $"It is just one {book.Say(m.As == Money.Zero ? m.Is : m.As)} note or coin.",
        Miscounted m => $"It is what a {book.Say(m.Is)} and a {book.Say(m.As)} differ by.",
        Misstated m => $"The total that was written, {book.Say(m.Taken.Counted)}, is what should be there, "
            + $"{book.Say(m.Right)}, with one slip of the pen.",
        Miswritten m => Wrong(m),
        _ => "",
    };

    private string Wrong(Miswritten m)
    {
        var (line, right) = (Text(m.Line), book.Say(Retold.Amount(m.Right)));
        var written = book.Say(Retold.Amount(m.Written));
        return m.Kind switch
        {
            MistakeKind.WrongDirection =>
                $"Half of it, {written}, stands in line {line} with the other sign.",
            MistakeKind.WrongCompartment =>
                $"The whole of it, {written}, stands in line {line}, and the words and the amount fit the "
                    + $"{Other(m)} as well.",
            MistakeKind.WrongHolding => $"The whole of it, {written}, stands in line {line} of the {Other(m)}.",
            MistakeKind.WrongDay => $"The whole of it, {written}, stands in line {line}, {Days(m)} the count.",
            MistakeKind.Transposed =>
                $"It divides by nine, and {written} in line {line} is {right} with two figures changed.",
            MistakeKind.Slid => $"It divides by nine, and {written} in line {line} is {right} with its point moved.",
            MistakeKind.Rounded => $"Line {line} says {written}, a round amount, and with it that is {right}.",
            MistakeKind.WrongFigure => $"Of {written} in line {line} one figure makes it {right}.",
            _ => $"It is a note or coin, or what two of them differ by, and the change on {written} in line {line} was "
                + "large enough.",
        };
    }

    private string Missing(NotRecorded n)
    {
        var (kind, amount) = (Retold.Kind(n.Movement), book.Say(Retold.Amount(n.Movement)));
        var why = n.Movement switch
        {
            Transferred t => $"The whole of it may have gone to or come from the {Partner(t)}.",
            _ when n.SeenBefore > 0 => $"The whole of it, {amount}, is an amount that was seen here "
                + $"{(n.SeenBefore == 1 ? "once" : $"{Text(n.SeenBefore)} times")} before.",
            _ => $"The whole of it, {amount}, may be one {kind} that no line before the count has.",
        };
        return n.MayBe.IsEmpty ? why
            : $"{why} But line {Text(n.MayBe[0].Lines[0])} may be this very {kind}.";
    }

    private string Look(Mistake mistake) => mistake switch
    {
        NotRecorded { MayBe: [var there, ..] } n =>
            $"Look first whether line {Text(there.Lines[0])} is the same {Retold.Kind(n.Movement)}.",
        NotRecorded { Movement: Transferred t } => $"Ask who moved money, and count the {Partner(t)}.",
        NotRecorded { Movement: Refunded } n =>
            $"Ask whether something was taken back for {book.Say(Retold.Amount(n.Movement))}.",
        NotRecorded n => $"Look for a ticket of {book.Say(Retold.Amount(n.Movement))}"
            + $"{(counted.Since is { } since ? $" since {since:O}" : "")}, and ask who had the purse.",
        NeedlesslyRecorded { Twin: not null } n =>
            $"Look whether there are two tickets for {n.Written[0].Said.OccurredOn:O}.",
        NeedlesslyRecorded n => $"Ask whether the money of line {Text(n.Written[0].Line)} was really moved.",
        Misstated => "Count once more, and read the total from what was noted.",
        Miscounted => "Count the notes and coins once more, and part those that stick together.",
        Miswritten { Kind: MistakeKind.WrongDirection } m =>
            $"Look at line {Text(m.Line)}: was it paid, or did it come back?",
        Miswritten { Kind: MistakeKind.WrongCompartment or MistakeKind.WrongHolding } m =>
            $"Ask from where line {Text(m.Line)} was paid, and count the {Other(m)}.",
        Miswritten { Kind: MistakeKind.WrongDay } m => $"Look at the date on the ticket of line {Text(m.Line)}.",
        Miswritten { Kind: MistakeKind.WrongChange } => "Think of the change, and count it in the shop next time.",
        Miswritten m => $"Hold line {Text(m.Line)} against its ticket.",
        _ => "",
    };

    private Part Partner(Transferred t) => t.From == counted.Place ? t.To : t.From;

    private Part Other(Miswritten m) => m.Right.Postings.Concat(m.Written.Postings).Select(p => p.Place)
        .FirstOrDefault(p => p != counted.Place);

    private string Days(Miswritten m)
    {
        var days = m.Written.OccurredOn.DayNumber - counted.Count.OccurredOn.DayNumber;
        return days switch
        {
            0 => "on the day of",
            1 or -1 => $"a day {(days > 0 ? "after" : "before")}",
            _ => $"{Text(Math.Abs(days))} days {(days > 0 ? "after" : "before")}",
        };
    }

    private string Signed(Mistake mistake)
    {
        var effect = mistake.Effects.FirstOrDefault(e => e.Place == counted.Place, mistake.Effects[0]).Amount;
        return effect < Money.Zero ? $"{book.Say(-effect)} short" : $"{book.Say(effect)} over";
    }

    private static string Lower(string sentence) =>
        sentence.Length == 0 ? sentence : char.ToLowerInvariant(sentence[0]) + sentence[1..];

    private static string Text(long number) => number.ToString(CultureInfo.InvariantCulture);
}
