using static CashEvents.Domain.Tests.Books.HarbourRow;

namespace CashEvents.Domain.Tests.Books;

/// <summary>Given these lines, when this is asked, then these lines are written, or it is refused.</summary>
internal static class Scenario
{
    /// <summary>Harbour Row's book, opened, with more lines.</summary>
    public static Given Given(params IBookEvent[] lines) => GivenBook([.. Opening, .. lines]);

    /// <summary>A book of exactly these lines.</summary>
    public static Given GivenBook(params IBookEvent[] lines) =>
        new(lines.Aggregate(Book.Empty, (book, line) => book.Apply(line)));
}

/// <summary>A book as its lines leave it.</summary>
internal sealed class Given(Book book)
{
    public Book Book => book;

    /// <summary>Asks for something on the household's today, 24 September 2026 unless told.</summary>
    public Asked When(ICommand command, DateOnly? today = null)
    {
        var before = Written.Book(book);
        var (lines, refusal) = Decide(command, today ?? Today);
        var (linesAgain, refusalAgain) = Decide(command, today ?? Today);

        Assert.Equal(Written.Lines(lines), Written.Lines(linesAgain));
        Assert.Equal(refusal?.Detail, refusalAgain?.Detail);
        Assert.Equal(before, Written.Book(book));
        return new Asked(book, lines, refusal);
    }

    /// <summary>
    /// Each of these is refused on the household's today, with this code, about this field if one is named, in these
    /// words; where they name an act, it stands in angle brackets.
    /// </summary>
    public void Refuses(params (ICommand Asked, string Code, string? Field, string Says)[] cases) =>
        Assert.All(cases, c =>
            Assert.Equal((c.Code, c.Field, c.Says), Spoken(When(c.Asked).ThenRefused(c.Code, c.Field))));

    private static (string, string?, string) Spoken(Refusal refusal) =>
        (refusal.Code, refusal.Field, refusal.Detail.Spoken());

    private (IReadOnlyList<IBookEvent> Lines, Refusal? Refusal) Decide(ICommand command, DateOnly today)
    {
        try
        {
            return (command.Decide(book, today), null);
        }
        catch (RefusalException refused)
        {
            return ([], refused.Refusal);
        }
    }
}

/// <summary>What came of asking.</summary>
internal sealed class Asked(Book book, IReadOnlyList<IBookEvent> lines, Refusal? refusal)
{
    /// <summary>Exactly these lines are written, and the next question finds them in the book.</summary>
    public Given Then(params IBookEvent[] expected)
    {
        Assert.True(refusal is null, refusal?.Detail);
        Assert.Equal(Written.Lines(expected), Written.Lines(lines));
        return After();
    }

    /// <summary>It is written, whatever the lines, and the next question finds them in the book.</summary>
    public Given ThenWritten()
    {
        Assert.True(refusal is null, refusal?.Detail);
        Assert.NotEmpty(lines);
        return After();
    }

    /// <summary>It is granted and there is nothing to write.</summary>
    public void ThenNothing() => Then();

    /// <summary>It is refused with this code, about this field if one is named.</summary>
    public Refusal ThenRefused(string code, string? field = null)
    {
        Assert.True(refusal is not null, $"Expected a refusal '{code}', but written was:\n{Written.Lines(lines)}");
        Assert.Equal((code, field), (refusal.Code, refusal.Field));
        Assert.NotEmpty(refusal.Detail);
        return refusal;
    }

    /// <summary>It is written, whatever the lines; the places then hold this.</summary>
    public void ThenHolds(params (Part Place, decimal Amount)[] expected)
    {
        Assert.True(refusal is null, refusal?.Detail);
        var after = After().Book;
        Assert.Equal(expected.AsEnumerable(),
            expected.Select(e => (e.Place,
                after.Currency.ToDecimal(after.Compartments[e.Place.Compartment].Balance(e.Place.Holding)))));
    }

    private Given After() => new(lines.Aggregate(book, (after, line) => after.Apply(line)));
}
