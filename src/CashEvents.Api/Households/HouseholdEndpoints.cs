using FluentValidation;

namespace CashEvents.Api.Households;

/// <summary>The household, described whole.</summary>
/// <param name="Name">As people call it.</param>
/// <param name="Currency">ISO 4217 code in capitals.</param>
/// <param name="TimeZone">IANA name of the zone whose calendar the book follows.</param>
/// <param name="FirstDayOfWeek">The day a week starts on; Monday, as in ISO 8601, if left out.</param>
/// <param name="Country">ISO 3166-1 alpha-2 code of the country whose bank holidays count for paydays; if left out,
/// only Saturdays and Sundays are no bank days.</param>
/// <param name="SmallestNote">The smallest note or coin to ask the bank for, such as 5.00: fill runs come to whole
/// notes of it, and draw slips ask for none below. The smallest coin if left out.</param>
/// <param name="LargestNote">The largest note to ask the bank for, such as 50.00; the largest that a bank gives if left
/// out.</param>
public sealed record HouseholdRequest(
    string? Name, string? Currency, string? TimeZone, DayOfWeek? FirstDayOfWeek, string? Country = null,
    decimal? SmallestNote = null, decimal? LargestNote = null)
{
    /// <exception cref="Domain.Naming.RefusalException">The bank holidays of that country are not known
    /// here.</exception>
    internal DescribeHousehold ToCommand()
    {
        if (Country is not null)
        {
            BankHolidays.MustKnow(Country);
        }

        return new DescribeHousehold(Name!, Currency!, TimeZone!, FirstDayOfWeek ?? DayOfWeek.Monday, Country)
        { SmallestNote = SmallestNote, LargestNote = LargestNote };
    }
}

/// <summary>Who owns the book.</summary>
/// <param name="Name">As people call it.</param>
/// <param name="Currency">ISO 4217 code; absent until the keeper names it.</param>
/// <param name="TimeZone">IANA name.</param>
/// <param name="FirstDayOfWeek">The day a week starts on.</param>
/// <param name="Country">ISO 3166-1 alpha-2 code of the country whose bank holidays count; absent when only Saturdays
/// and Sundays are no bank days.</param>
/// <param name="Line">The book's last line.</param>
public sealed record HouseholdAnswer(string Name, string? Currency, string TimeZone, DayOfWeek FirstDayOfWeek,
    string? Country, long Line)
{
    /// <summary>Said where that country's bank holidays were not checked against a published list.</summary>
    public string? CountryNote { get; init; }

    /// <summary>The smallest note or coin to ask the bank for; absent when it is the smallest that there is.</summary>
    public decimal? SmallestNote { get; init; }

    /// <summary>The largest; absent when it is the largest that a bank gives.</summary>
    public decimal? LargestNote { get; init; }

    internal static HouseholdAnswer Of(Household household, long line) =>
        new(household.Name, household.Currency?.Code, household.TimeZone, household.FirstDayOfWeek, household.Country,
            line)
        {
            CountryNote = BankHolidays.NoteOn(household.Country),
            SmallestNote = household.SmallestNote is { } smallest ? household.Currency!.ToDecimal(smallest) : null,
            LargestNote = household.LargestNote is { } largest ? household.Currency!.ToDecimal(largest) : null,
        };
}

internal sealed class HouseholdRequestValidator : AbstractValidator<HouseholdRequest>
{
    public HouseholdRequestValidator()
    {
        RuleFor(r => r.Name).NotEmpty().WithMessage("`name` is needed: what the household is called.");
        RuleFor(r => r.Currency).NotEmpty().WithMessage("`currency` is needed: an ISO 4217 code such as EUR.");
        RuleFor(r => r.TimeZone).NotEmpty().WithMessage("`timeZone` is needed: an IANA name such as Europe/Dublin.");
    }
}

internal sealed class HouseholdEndpoints : IEndpoints
{
    private const string Answer =
        """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "monday", "country": "IE", "line": 3, "smallestNote": 5.00, "largestNote": 50.00}""";

    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/household", async (HttpContext http, Caller caller, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(HouseholdAnswer.Of(book.Household!, book.Line));
            })
            .Produces<HouseholdAnswer>()
            .RefusesReads()
            .WithSummary("The household: name, currency, time zone, first day of the week, country, notes to draw")
            .WithExample(null, Answer);

        api.MapPut("/household", async (HttpContext http, Caller caller, Body<HouseholdRequest> body, WriteDesk desk,
            BookReader books) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, _) = await desk.WriteAsync(http, sent.ToCommand(), "household", sent).ConfigureAwait(false);
                var household = entry.Household
                    ?? (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false)).Household!;
                return TypedResults.Ok(HouseholdAnswer.Of(household, entry.BookLine));
            })
            .Accepts<HouseholdRequest>("application/json")
            .Produces<HouseholdAnswer>()
            .RefusesWrites()
            .WithSummary("Describe the household; replaces the whole description")
            .WithDescription("The currency can't change once the book has amounts. The country is the one whose "
                + "bank holidays move paydays. Those of Great Britain (England and Wales), Ireland and the "
                + "United States were checked against what is published. For others `countryNote` warns. Local "
                + "bank practice may differ: ask the bank. The smallest and the largest note to draw hold for "
                + "draw slips and fill runs that name no others.")
            .WithExample(
                """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "firstDayOfWeek": "monday", "country": "IE", "smallestNote": 5.00, "largestNote": 50.00}""", Answer);
    }
}

/// <summary>A line of the kind <c>householdDescribed</c>.</summary>
public sealed record HouseholdDescribedLine : LineAnswer, ILineOf<HouseholdDescribed>
{
    /// <summary>The household's or a key's name.</summary>
    public required string Name { get; init; }

    /// <summary>The household's currency.</summary>
    public string? Currency { get; init; }

    /// <summary>The household's time zone.</summary>
    public required string TimeZone { get; init; }

    /// <summary>The day the household's week starts on.</summary>
    public required DayOfWeek FirstDayOfWeek { get; init; }

    /// <summary>The country whose bank holidays count.</summary>
    public string? Country { get; init; }

    /// <summary>The smallest note or coin that is drawn, where the household is described.</summary>
    public decimal? SmallestNote { get; init; }

    /// <summary>The largest.</summary>
    public decimal? LargestNote { get; init; }

    static LineAnswer ILineOf<HouseholdDescribed>.Of(HouseholdDescribed e, LineTelling told) =>
        new HouseholdDescribedLine
        {
            Name = e.Name,
            Currency = e.Currency,
            TimeZone = e.TimeZone,
            FirstDayOfWeek = e.FirstDayOfWeek,
            Country = e.Country,
            SmallestNote = e.SmallestNote is { } smallest
                ? Domain.Amounts.Currency.Of(e.Currency!).ToDecimal(smallest)
                : null,
            LargestNote = e.LargestNote is { } largest
                    ? Domain.Amounts.Currency.Of(e.Currency!).ToDecimal(largest)
                    : null
        };
}
