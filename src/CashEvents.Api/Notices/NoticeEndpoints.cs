using FluentValidation;

namespace CashEvents.Api.Notices;

/// <summary>Which notices the household wants, and at which level.</summary>
/// <param name="Levels">What a compartment is low below, by its id: cash and bank together. None if left out.</param>
/// <param name="CountedWithin">Days after which a wallet that holds cash is to be counted again, 1 to 3650; never if
/// null.</param>
/// <param name="CarriedFor">Days for which cash may be carried, 0 to 3650; for any time if null.</param>
/// <param name="Silent">Kinds that are not told.</param>
public sealed record NoticeSettingsForm(IReadOnlyDictionary<string, decimal>? Levels, int? CountedWithin,
    int? CarriedFor, IReadOnlyList<NoticeKind>? Silent)
{
    internal static NoticeSettingsForm Of(NoticeSettings settings, Currency? currency) => new(
        currency is null ? new Dictionary<string, decimal>()
            : settings.Levels.ToDictionary(level => level.Key, level => currency.ToDecimal(new Money(level.Value))),
        settings.CountedWithin, settings.CarriedFor, settings.Silent);

    /// <summary>What is kept of it.</summary>
    /// <exception cref="RefusalException">A compartment that is not there, or an amount with too many
    /// decimals.</exception>
    internal NoticeSettings ToSettings(Book book) => new()
    {
        Levels = (Levels ?? new Dictionary<string, decimal>()).ToDictionary(
            level => book.OpenCompartment(level.Key, $"levels.{level.Key}").Id,
            level => book.Amount(level.Value, $"levels.{level.Key}").Minor),
        CountedWithin = CountedWithin,
        CarriedFor = CarriedFor,
        Silent = [.. (Silent ?? []).Distinct()],
    };
}

/// <summary>A notice.</summary>
/// <param name="Number">The household's notices are numbered one after another, with gaps.</param>
/// <param name="Kind">What it is about.</param>
/// <param name="Title">In a few words.</param>
/// <param name="Detail">In a sentence or two.</param>
/// <param name="Since">The instant (UTC) at which it was noticed.</param>
public sealed record NoticeAnswer(long Number, NoticeKind Kind, string Title, string Detail, DateTimeOffset Since)
{
    /// <summary>The compartment that it is about; absent where it is about none, or several.</summary>
    public string? Compartment { get; init; }

    /// <summary>The day that it is about; absent where it is about none.</summary>
    public DateOnly? On { get; init; }

    /// <summary>The instant (UTC) at which it was over; absent while it is not.</summary>
    public DateTimeOffset? Over { get; init; }

    internal static NoticeAnswer Of(Notice notice) => new(notice.Number, notice.What.Kind, notice.What.Title,
        notice.What.Detail, notice.Since)
    {
        Compartment = notice.What.Compartment,
        On = notice.What.On,
        Over = notice.Over,
    };
}

/// <summary>What the household is told of.</summary>
/// <param name="Settings">Which notices it wants, and at which level.</param>
/// <param name="Notices">In the order in which they were noticed.</param>
public sealed record NoticesAnswer(NoticeSettingsForm Settings, IReadOnlyList<NoticeAnswer> Notices);

internal sealed class NoticeSettingsFormValidator : AbstractValidator<NoticeSettingsForm>
{
    private const int MostDays = 3650;

    public NoticeSettingsFormValidator()
    {
        RuleFor(s => s.CountedWithin).InclusiveBetween(1, MostDays)
            .WithMessage($"`countedWithin` is a number of days, 1 to {MostDays}, or null for never.");
        RuleFor(s => s.CarriedFor).InclusiveBetween(0, MostDays)
            .WithMessage($"`carriedFor` is a number of days, 0 to {MostDays}, or null for any time.");
    }
}

internal sealed class NoticeEndpoints : IEndpoints
{
    private const string Settings =
        """{"levels": {"market-days": 20.00}, "countedWithin": 35, "carriedFor": 7, "silent": ["monthCanBeClosed"]}""";

    private const string Answer = $$"""
        {"settings": {{Settings}},
         "notices": [{"number": 4, "kind": "compartmentLow", "title": "“Market days” is low", "detail": "It holds 12.40 EUR, less than the 20.00 EUR that you set.",
           "since": "2026-11-14T10:02:11.204310+00:00", "compartment": "market-days"}]}
        """;

    private static readonly Bounds _over = new(0, 1000, 0);

    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/notices", async (HttpContext http, Caller caller, string? over, NoticeBook notices,
                BookReader books) =>
            {
                Reads.OnlyTakes(http, "over");
                return await AnswerAsync(http, caller, (int)Reads.Number(over, "over", _over), notices, books)
                    .ConfigureAwait(false);
            })
            .Produces<NoticesAnswer>()
            .RefusesReads()
            .HasNoTag()
            .WithSummary("What the household is to know just now, and which notices it wants")
            .WithDescription("A notice comes once, and says when it is over. It is worked out when lines were written "
                + "and "
                + "when the household's day begins, moments later. It is no line of the book. The feed and webhooks "
                + "carry "
                + "it too.")
            .WithParameter("over", "So many that are over are told too, the latest; none if left out.", "10",
                ParameterForm.Number(_over))
            .WithExample(null, Answer);

        api.MapPut("/notices", async (HttpContext http, Caller caller, Body<NoticeSettingsForm> body,
                NoticeBook notices, BookReader books) =>
            {
                caller.MustKeep();
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                await notices.SetAsync(caller.Household, body.Value.ToSettings(book), http.RequestAborted)
                    .ConfigureAwait(false);
                return await AnswerAsync(http, caller, 0, notices, books).ConfigureAwait(false);
            })
            .Accepts<NoticeSettingsForm>("application/json")
            .Produces<NoticesAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status422UnprocessableEntity)
            .HasNoTag()
            .WithSummary("Say which notices the household wants, and at which level")
            .WithDescription("It replaces what was said before. It is no line of the book.")
            .WithExample(Settings, Answer);
    }

    private static async Task<IResult> AnswerAsync(HttpContext http, Caller caller, int over, NoticeBook notices,
        BookReader books)
    {
        var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        var settings = await notices.SettingsAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        var told = await notices.ReadAsync(caller.Household, over, http.RequestAborted).ConfigureAwait(false);
        return TypedResults.Ok(new NoticesAnswer(NoticeSettingsForm.Of(settings, book.Household?.Currency),
            [.. told.Select(NoticeAnswer.Of)]));
    }
}
