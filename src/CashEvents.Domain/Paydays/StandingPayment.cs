namespace CashEvents.Domain.Paydays;

/// <summary>What a standing payment is for.</summary>
public enum StandingPaymentKind
{
    /// <summary>A bill of a fixed amount, such as rent.</summary>
    FixedBill,

    /// <summary>Money that the bank puts aside by itself.</summary>
    AutomaticSaving,
}

/// <summary>A known amount that leaves the bank again and again, before anything is drawn from the pay.</summary>
/// <param name="Id">Its id, such as <c>quay-rent</c>.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Recurrence">The days on which it is due.</param>
/// <param name="NotBankDay">When it is paid if that is no bank day.</param>
/// <param name="Amount">How much each time, above zero.</param>
public sealed record StandingPayment(string Id, StandingPaymentKind Kind, string Label, Recurrence Recurrence,
    NotBankDay NotBankDay, Money Amount);

/// <summary>Line: a standing payment is set, or set anew in the stead of what was.</summary>
/// <param name="Payment">Its id.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Rule">Recurrence rule of RFC 5545.</param>
/// <param name="First">The first day on which it is due.</param>
/// <param name="NotBankDay">When it is paid if that is no bank day.</param>
/// <param name="Amount">How much each time.</param>
[LineKind("standingPaymentSet")]
public sealed record StandingPaymentSet(string Payment, StandingPaymentKind Kind, string Label, string Rule,
    DateOnly First, NotBankDay NotBankDay, Money Amount) : IBookEvent
{
    internal StandingPayment Set => new(Payment, Kind, Label, new Recurrence(Rule, First), NotBankDay, Amount);

    /// <inheritdoc />
    public bool CarriesAmount => true;

    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        PaydaysInBook.StandingPayments.Change(book, payments => payments.SetItem(Payment, Set));

    /// <inheritdoc />
    public string Mend(long line) => "what it says can be said anew";
}

/// <summary>Line: a standing payment is paid no more.</summary>
/// <param name="Payment">Its id.</param>
[LineKind("standingPaymentEnded")]
public sealed record StandingPaymentEnded(string Payment) : IBookEvent
{
    /// <inheritdoc />
    public Book WrittenIn(Book book) =>
        PaydaysInBook.StandingPayments.Change(book, payments => payments.Remove(Payment));

    /// <inheritdoc />
    public string Mend(long line) => "what it says can be said anew";
}

/// <summary>Sets a standing payment, whole.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Recurrence">The days on which it is due, as a calendar has read them.</param>
/// <param name="NotBankDay">When it is paid if that is no bank day.</param>
/// <param name="Amount">How much each time, above zero, in major units as written.</param>
public sealed record SetStandingPayment(string Id, StandingPaymentKind Kind, string Label, Recurrence Recurrence,
    NotBankDay NotBankDay, decimal Amount) : ICommand
{
    /// <summary>The most that a household has at once.</summary>
    public const int Most = 100;

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var id = Slug.Named(Id, "id");
        var set = new StandingPaymentSet(id, Kind, Words.Name(Label, "label"), Recurrence.Rule, Recurrence.First,
            NotBankDay, book.Amount(Amount));
        if (!book.StandingPayments.TryGetValue(id, out var known) && book.StandingPayments.Count == Most)
        {
            throw Refusal.Conflict("too-many",
                $"A household has at most {Most} standing payments: end one that is paid no more.");
        }

        return set.Set == known ? [] : [set];
    }
}

/// <summary>Ends a standing payment.</summary>
/// <param name="Id">Its id.</param>
public sealed record EndStandingPayment(string Id) : ICommand
{
    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => book.StandingPayments.ContainsKey(Id)
        ? [new StandingPaymentEnded(Id)]
        : throw Refusal.NotFound("standing-payment-unknown",
            $"There is no standing payment '{Id}'. {Act.ListStandingPayments.Way()} lists them.",
            NearNames.Of(Id, book.StandingPayments.Keys));
}
