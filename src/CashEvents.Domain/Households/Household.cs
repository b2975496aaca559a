using System.Globalization;

namespace CashEvents.Domain.Households;

/// <summary>Line: the household is named, or described anew.</summary>
/// <param name="Name">As people call it.</param>
/// <param name="Currency">ISO 4217 code, or none yet.</param>
/// <param name="TimeZone">IANA name.</param>
/// <param name="FirstDayOfWeek">The day a week starts on.</param>
/// <param name="Country">ISO 3166-1 alpha-2 code of the country whose bank holidays count; none when only Saturdays and
/// Sundays do.</param>
[LineKind("householdDescribed")]
public sealed record HouseholdDescribed(string Name, string? Currency, string TimeZone, DayOfWeek FirstDayOfWeek,
    string? Country = null) : IBookEvent
{
    /// <summary>The smallest note or coin to draw; none for the smallest that there is.</summary>
    public Money? SmallestNote { get; init; }

    /// <summary>The largest; none for the largest that a bank gives.</summary>
    public Money? LargestNote { get; init; }

    internal Household Described =>
        new(Name, Currency is null ? null : Amounts.Currency.Of(Currency), TimeZone, FirstDayOfWeek, Country)
        { SmallestNote = SmallestNote, LargestNote = LargestNote };

    /// <inheritdoc />
    public Book WrittenIn(Book book) => book with { Household = Described };

    /// <inheritdoc />
    public string Mend(long line) => $"describe the household anew with {Act.DescribeHousehold.Way()}";
}

/// <summary>Describes the household, whole.</summary>
/// <param name="Name">As people call it.</param>
/// <param name="Currency">ISO 4217 code in capitals; only the first opening of a book leaves it out.</param>
/// <param name="TimeZone">IANA name.</param>
/// <param name="FirstDayOfWeek">The day a week starts on.</param>
/// <param name="Country">ISO 3166-1 alpha-2 code of the country whose bank holidays count; none when only Saturdays and
/// Sundays do.</param>
public sealed record DescribeHousehold(string Name, string? Currency, string TimeZone, DayOfWeek FirstDayOfWeek,
    string? Country = null) : ICommand
{
    /// <summary>The smallest note or coin to draw, in major units; the smallest that there is if left out.</summary>
    public decimal? SmallestNote { get; init; }

    /// <summary>The largest, in major units; the largest that a bank gives if left out.</summary>
    public decimal? LargestNote { get; init; }

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        var name = Words.Name(Name, "name");
        if (Currency is not null && !Amounts.Currency.TryFind(Currency, out _))
        {
            throw Refusal.Unfit("currency", "currency-unknown",
                $"'{Currency}' is no ISO 4217 currency code: write one such as EUR or USD.");
        }

        if (!Household.IsTimeZone(TimeZone))
        {
            throw Refusal.Unfit("timeZone", "time-zone-unknown",
                $"'{TimeZone}' is no IANA time zone: write one such as Europe/Dublin or America/Halifax.");
        }

        if (Country is not null && Country is not [>= 'A' and <= 'Z', >= 'A' and <= 'Z'])
        {
            throw Refusal.Unfit("country", "country-unknown",
                $"'{Country}' is no ISO 3166-1 alpha-2 code: write two capitals such as IE or US, or leave `country` "
                    + $"out.");
        }

        if (book.HasAmounts && Currency != book.Household?.Currency?.Code)
        {
            throw Refusal.Conflict("currency-fixed",
                $"The book has amounts in {book.Household?.Currency?.Code}: their currency can't change any more. "
                    + $"Leave it, or keep a second household's book.", "currency");
        }

        var described = new HouseholdDescribed(name, Currency, TimeZone, FirstDayOfWeek,
            Country)
        {
            SmallestNote = Note(SmallestNote, "smallestNote"),
            LargestNote = Note(LargestNote, "largestNote")
        };
        return described.SmallestNote > described.LargestNote
            ? throw Refusal.Unfit("largestNote", "notes-crossed",
                $"The largest note to draw, {Text(LargestNote!.Value)}, is smaller than the smallest, "
                    + $"{Text(SmallestNote!.Value)}: write them the other way round.")
            : book.Household == described.Described ? [] : [described];
    }

    private Money? Note(decimal? written, string field)
    {
        if (written is not { } face)
        {
            return null;
        }

        var currency = Amounts.Currency.Of(
            Currency ?? throw Refusal.Unfit("currency", "currency-missing",
                $"`currency` is needed with `{field}`: an ISO 4217 code such as EUR."));
        var issued = Denominations.StillIssued(currency);
        if (issued.IsEmpty)
        {
            throw Refusal.Unfit(field, "denominations-unknown",
                $"The notes and coins of {currency.Code} are not listed here: leave `{field}` out.");
        }

        return issued.Where(value => currency.ToDecimal(value) == face).Select(value => (Money?)value).FirstOrDefault()
            ?? throw Refusal.Unfit(field, "denomination-unknown",
                $"No bank gives a note or coin of {Text(face)} {currency.Code}. Choose one of "
                    + $"{string.Join(", ", issued.Select(value => Short(currency.ToDecimal(value))))}.");
    }

    private static string Short(decimal value) => value.ToString("0.##", CultureInfo.InvariantCulture);

    private static string Text(decimal value) => value.ToString(CultureInfo.InvariantCulture);
}
