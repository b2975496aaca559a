using System.Collections.Immutable;

namespace CashEvents.Domain.Counts;

/// <summary>Line: two compartments exchanged notes or coins of equal worth. No balance changes.</summary>
/// <param name="Compartment">The one.</param>
/// <param name="With">The other.</param>
/// <param name="Gives">The pieces that go from the one to the other, largest first.</param>
/// <param name="Takes">The pieces that come back, largest first.</param>
/// <param name="OccurredOn">The day.</param>
/// <param name="Description">What was written beside it.</param>
[LineKind("exchange")]
public sealed record NotesExchanged(
    string Compartment, string With, ImmutableArray<Pieces> Gives, ImmutableArray<Pieces> Takes, DateOnly OccurredOn,
    string Description) : IDatedEvent
{
    /// <inheritdoc />
    public MovementKind? Listed => MovementKind.Exchange;

    /// <inheritdoc />
    public IEnumerable<string> About => [Compartment, With];

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book.Exchange(this);

    /// <inheritdoc />
    public string Mend(long line) =>
        $"exchange the notes back between '{Compartment}' and '{With}', or count both again";
}

/// <summary>Records an exchange.</summary>
/// <param name="Compartment">The one.</param>
/// <param name="With">The other.</param>
/// <param name="Gives">The pieces that go from the one to the other, as <c>{"20": 1}</c>.</param>
/// <param name="Takes">The pieces that come back, worth the same.</param>
/// <param name="OccurredOn">The day; today if left out.</param>
/// <param name="Description">What to write beside it.</param>
public sealed record RecordExchange(
    string Compartment, string With, IReadOnlyDictionary<string, long> Gives, IReadOnlyDictionary<string, long> Takes,
    DateOnly? OccurredOn, string? Description) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var one = book.OpenCompartment(Compartment, "compartment");
        var other = book.OpenCompartment(With, "with");
        if (one.Id == other.Id)
        {
            throw Refusal.Unfit("with", "same-compartment",
                $"'{With}' exchanges with itself here: name the other compartment.");
        }

        var gives = Denominations.Read(book.Currency, Gives, "gives");
        var takes = Denominations.Read(book.Currency, Takes, "takes");
        var (given, taken) = (Denominations.Total(gives), Denominations.Total(takes));
        if (given == Money.Zero)
        {
            throw Refusal.Unfit("gives", "exchange-empty",
                "`gives` names no pieces: write at least one, such as {\"20\": 1}.");
        }

        if (given != taken)
        {
            throw Refusal.Unfit("takes", "exchange-unequal",
                $"{book.Say(given)} is given and {book.Say(taken)} taken: an exchange is of equal worth. Money that "
                    + $"moves is a transfer.");
        }

        var day = book.Day(OccurredOn, today);
        MustHold(book, one, gives, given, day, "gives");
        MustHold(book, other, takes, given, day, "takes");
        return [new NotesExchanged(one.Id, other.Id, gives, takes, day, Words.Description(Description))];
    }

    // Where the notes are known they must be there; where they are not, there must be as much money.
    private static void MustHold(Book book, Compartment compartment, ImmutableArray<Pieces> pieces, Money worth,
        DateOnly day, string field)
    {
        book.MustHave(new Part(compartment.Id, Holding.Cash), worth, day, field);
        if (book.NotesOf(compartment.Id) is { } known && day >= known.CountedOn
            && known.Lacking(pieces).ToList() is { Count: > 0 } lacking)
        {
            throw Refusal.Conflict("notes-not-there",
                $"By count {known.Count} and the exchanges since, '{compartment.Id}' lacks "
                    + $"{string.Join(", ", lacking.Select(p => $"{p.Count} of {book.Say(p.Value)}"))}: write the notes "
                    + $"that were there, or count it again.", field);
        }
    }
}
