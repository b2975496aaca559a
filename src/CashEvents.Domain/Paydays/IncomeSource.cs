namespace CashEvents.Domain.Paydays;

/// <summary>Where pay comes from, and when.</summary>
/// <param name="Id">Its id, such as <c>harbour-office</c>.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Recurrence">Its nominal paydays.</param>
/// <param name="NotBankDay">When it pays if that is no bank day.</param>
/// <param name="Amount">What it pays each time, above zero; null when it pays as it comes.</param>
public sealed record IncomeSource(string Id, string Label, Recurrence Recurrence, NotBankDay NotBankDay, Money? Amount);

/// <summary>Line: an income source is set, or set anew in the stead of what was.</summary>
/// <param name="Source">Its id.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Rule">Recurrence rule of RFC 5545.</param>
/// <param name="First">The first nominal payday.</param>
/// <param name="NotBankDay">When it pays if that is no bank day.</param>
/// <param name="Amount">What it pays each time; none when it pays as it comes.</param>
[LineKind("incomeSourceSet")]
public sealed record IncomeSourceSet(string Source, string Label, string Rule, DateOnly First, NotBankDay NotBankDay,
    Money? Amount) : IBookEvent
{
    internal IncomeSource Set => new(Source, Label, new Recurrence(Rule, First), NotBankDay, Amount);

    /// <inheritdoc />
    public bool CarriesAmount => Amount is not null;

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        PaydaysInBook.IncomeSources.Change(book, sources => sources.SetItem(Source, Set));

    /// <inheritdoc />
    public string Mend(long line) => "what it says can be said anew";
}

/// <summary>Line: an income source pays no more, and its paydays are told no more.</summary>
/// <param name="Source">Its id.</param>
[LineKind("incomeSourceEnded")]
public sealed record IncomeSourceEnded(string Source) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) => PaydaysInBook.IncomeSources.Change(book, sources => sources.Remove(Source));

    /// <inheritdoc />
    public string Mend(long line) => "what it says can be said anew";
}

/// <summary>Sets an income source, whole.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Recurrence">Its nominal paydays, as a calendar has read them.</param>
/// <param name="NotBankDay">When it pays if that is no bank day.</param>
/// <param name="Amount">What it pays each time, above zero, in major units as written; none when it pays as it
/// comes.</param>
public sealed record SetIncomeSource(string Id, string Label, Recurrence Recurrence, NotBankDay NotBankDay,
    decimal? Amount) : ICommand
{
    /// <summary>The most that a household has at once.</summary>
    public const int Most = 50;

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var id = Slug.Named(Id, "id");
        var set = new IncomeSourceSet(id, Words.Name(Label, "label"), Recurrence.Rule, Recurrence.First, NotBankDay,
            Amount is { } written ? book.Amount(written) : null);
        if (!book.IncomeSources.TryGetValue(id, out var known) && book.IncomeSources.Count == Most)
        {
            throw Refusal.Conflict("too-many",
                $"A household has at most {Most} income sources: end one that pays no more.");
        }

        return set.Set == known ? [] : [set];
    }
}

/// <summary>Ends an income source.</summary>
/// <param name="Id">Its id.</param>
public sealed record EndIncomeSource(string Id) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => book.IncomeSources.ContainsKey(Id)
        ? [new IncomeSourceEnded(Id)]
        : throw Refusal.NotFound("income-source-unknown",
            $"There is no income source '{Id}'. {Act.ListIncomeSources.Way()} lists them.",
            NearNames.Of(Id, book.IncomeSources.Keys));
}
