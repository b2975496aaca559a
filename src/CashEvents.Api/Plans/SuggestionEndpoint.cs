using System.Globalization;

namespace CashEvents.Api.Plans;

/// <summary>What was spent in a week.</summary>
/// <param name="Week">Its name.</param>
/// <param name="Spent">Less refunds.</param>
public sealed record WeekSpentAnswer(string Week, decimal Spent);

/// <summary>What is suggested for a compartment.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Planned">What is planned for the present week; absent without a plan.</param>
/// <param name="Suggested">The weekly amount that would have covered that share of the weeks; absent when there are too
/// few.</param>
/// <param name="Weeks">The weeks it rests on.</param>
public sealed record SuggestionAnswer(string Compartment, string Label, decimal? Planned, decimal? Suggested,
    IReadOnlyList<WeekSpentAnswer> Weeks)
{
    /// <summary>Why nothing is suggested.</summary>
    public string? Note { get; init; }
}

/// <summary>Suggestions for the plan.</summary>
/// <param name="Coverage">The share of past weeks that the amounts would have covered.</param>
/// <param name="Compartments">Each spending compartment in use.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record SuggestionsAnswer(decimal Coverage, IReadOnlyList<SuggestionAnswer> Compartments, long BookLine);

internal sealed class SuggestionEndpoint : IEndpoints
{
    private const int PastWeeks = 52;
    private const decimal UsualCoverage = 0.8m;

    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/plan/suggestions",
            async (HttpContext http, Caller caller, string? coverage, SuggestionReader suggestions) =>
        {
            Reads.OnlyTakes(http, "coverage");
            var share = Share(coverage);
            var (read, firstDays) = await suggestions.ReadAsync(caller.Household,
                (household, today) => Past(Week.Of(today, household.FirstDayOfWeek)), http.RequestAborted)
                .ConfigureAwait(false);
            Answers.StampLine(http, read.Book.Line);
            decimal Say(Money money) => read.Book.Household!.Currency?.ToDecimal(money) ?? 0m;
            var present = Week.Of(read.Today, read.Book.Household!.FirstDayOfWeek);
            return TypedResults.Ok(new SuggestionsAnswer(
                share,
                [
                    .. Suggestion.Of(read.Sheets, share, firstDays).Select(s => new SuggestionAnswer(
                        s.Compartment.Id, s.Compartment.Label,
                        read.Book.Plan.For(s.Compartment.Id, present.First) is { } planned ? Say(planned.Amount) : null,
                        s.Amount is { } amount ? Say(amount) : null,
                        [.. s.Weeks.Select(w => new WeekSpentAnswer(w.Week.ToString(), Say(w.Spent)))])
                    {
                        Note = s.Amount is null ? $"{s.Weeks.Count} whole "
                            + $"{(s.Weeks.Count == 1 ? "week is" : "weeks are")} known of it, and with fewer than "
                            + $"{Suggestion.FewestWeeks} nothing should be guessed." : null,
                    }),
                ],
                read.Book.Line));
        })
        .IsHeavy()
        .Produces<SuggestionsAnswer>()
        .RefusesReads()
        .WithSummary("The weekly amounts that would have been enough in a share of past weeks")
        .WithDescription("`coverage` is the share of weeks in which the amount is enough, 0 to 1; "
            + $"{UsualCoverage.ToString(CultureInfo.InvariantCulture)} if left out. It rests on the whole weeks "
            + $"of the last {PastWeeks} since the compartment first had money. The first of them counts only if "
            + $"there was money from that week's first day on. With fewer than {Suggestion.FewestWeeks} weeks "
            + "nothing is suggested. The amount is a quantile by type 7 of Hyndman and Fan (1996), rounded up to "
            + "the minor unit. What was needed in the past need not be enough in the future.")
        .WithParameter("coverage", "The share of past weeks to cover, 0 to 1; 0.8 if left out.", "0.8",
            ParameterForm.Share(UsualCoverage))
        .WithExample(null, """
            {"coverage": 0.8, "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "planned": 25.00, "suggested": 22.45,
                "weeks": [{"week": "2026-W39", "spent": 17.30}, {"week": "2026-W40", "spent": 21.75}, {"week": "2026-W41", "spent": 15.85}, {"week": "2026-W42", "spent": 22.45},
                          {"week": "2026-W43", "spent": 19.60}, {"week": "2026-W44", "spent": 24.10}, {"week": "2026-W45", "spent": 11.80}, {"week": "2026-W46", "spent": 15.85}]},
               {"compartment": "bakery-van", "label": "Bakery van", "weeks": [{"week": "2026-W46", "spent": 5.70}], "note": "1 whole week is known of it, and with fewer than 8 nothing should be guessed."}],
             "bookLine": 112}
            """);

    private static IReadOnlyList<WeekSlice> Past(Week present) =>
        WeekSlice.Whole(new Week(present.First.AddDays(-7 * PastWeeks)), present.Previous);

    private static decimal Share(string? written) => written is null ? UsualCoverage
        : decimal.TryParse(written, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var share)
            && share is >= 0m and <= 1m && share.Scale <= 6 ? share
        : throw new MalformedException("coverage",
            "`coverage` is a share from 0 to 1 with at most six decimals, such as 0.8.");
}
