using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>What is to be drawn.</summary>
/// <param name="Amounts">What each compartment is to get, by its id.</param>
/// <param name="InHand">Notes and coins that are there already and are used first, as <c>{"20": 3}</c>; none if left
/// out.</param>
/// <param name="Denominations">The values that the bank gives, such as <c>[50, 20, 10, 5]</c>; the household's from the
/// smallest to the largest note to draw if left out.</param>
public sealed record DrawSlipRequest(IReadOnlyDictionary<string, decimal>? Amounts,
    IReadOnlyDictionary<string, long>? InHand, IReadOnlyList<decimal>? Denominations);

/// <summary>The payday whose cash is drawn.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="On">The day on which it is filled; null while that is not known.</param>
internal sealed record DrawnFor(DateOnly Payday, DateOnly? On);

internal sealed class DrawSlipRequestValidator : AbstractValidator<DrawSlipRequest>
{
    public DrawSlipRequestValidator()
    {
        RuleFor(r => r.Amounts).AreToPack();
        RuleFor(r => r.Denominations).Must(d => d is null || d.Count > 0)
            .WithMessage("`denominations` names the values that the bank gives, such as [50, 20, 10, 5]: name at least "
                + "one, or leave it out.");
    }
}

internal sealed class DrawSlipEndpoint : IEndpoints
{
    private static readonly string[] _heading = ["sheet", "compartment", "value", "count", "amount"];

    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/draw-slips", async (HttpContext http, Caller caller, Body<DrawSlipRequest> body, BookReader books) =>
        {
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var sent = body.Value;
            var fromBank = sent.Denominations is { } given
                ? Denominations.ReadValues(book.Currency, given, "denominations")
                : book.Household!.ToDraw;
            return await AnswerAsync(http,
                PackingTask.Read(book, sent.Amounts!, sent.InHand ?? new Dictionary<string, long>(), fromBank), book,
                compartment => $"amounts.{compartment}").ConfigureAwait(false);
        })
        .IsHeavy()
        .Accepts<DrawSlipRequest>("application/json")
        .Produces<DrawSlipAnswer>(StatusCodes.Status200OK, "application/json", "text/csv", "text/html")
        .RefusesReads(StatusCodes.Status409Conflict, StatusCodes.Status422UnprocessableEntity)
        .WithSummary("The notes to ask the bank for, and the packing list by compartment")
        .WithDescription("Writes nothing. Notes in hand are used first. Then the bank is asked for as few pieces as "
            + "the "
            + "compartments' wishes allow. Wishes that can't be met are named. A draw that a bank in the United "
            + "States reports comes with a caution. The CSV has the rows of notes and no cautions.")
        .WithExample(
            """{"amounts": {"ferry-fares": 45.00, "market-days": 60.00}, "inHand": {"20": 1}, "denominations": [50, 20, 10, 5]}""",
            """
            {"total": 105.00, "fromHand": 20.00, "draw": 85.00, "pieces": 4,
             "ask": [{"value": 20.00, "count": 4}, {"value": 5.00, "count": 1}],
             "compartments": [
               {"compartment": "ferry-fares", "label": "Ferry fares", "amount": 45.00, "packed": 45.00, "pieces": [{"value": 20.00, "count": 2}, {"value": 5.00, "count": 1}]},
               {"compartment": "market-days", "label": "Market days", "amount": 60.00, "packed": 60.00, "pieces": [{"value": 20.00, "count": 3}]}],
             "left": [], "unmetWishes": [], "provenBest": true, "bookLine": 62}
            """);

    /// <summary>Packs exactly, and answers in the form asked for.</summary>
    /// <param name="http">The request.</param>
    /// <param name="task">What is to be packed.</param>
    /// <param name="book">The book whose compartments are meant.</param>
    /// <param name="field">The field to blame when a compartment's amount can't be made up.</param>
    /// <param name="drawnFor">The payday that it is drawn for, if it is.</param>
    /// <exception cref="RefusedException">An amount can't be made up exactly.</exception>
    public static async Task<IResult> AnswerAsync(HttpContext http, PackingTask task, Book book,
        Func<string, string> field, DrawnFor? drawnFor = null)
    {
        var packing = PackingSolver.Pack(task);
        packing.MustBeExact(book, field);
        Answers.StampLine(http, book.Line);
        return await AnswerAsync(http,
            DrawSlipAnswer.Of(packing, book) with { Payday = drawnFor?.Payday, OccurredOn = drawnFor?.On }, book)
            .ConfigureAwait(false);
    }

    private static async Task<IResult> AnswerAsync(HttpContext http, DrawSlipAnswer slip, Book book) =>
        Forms.Of(http, Form.Csv, Form.Html) switch
        {
            Form.Csv => await Csv.OfAsync(_heading, slip.Ask.Select(p => Cells("ask", null, p.Value, p.Count))
                .Concat(slip.Compartments.SelectMany(
                    c => c.Pieces.Select(p => Cells("pack", c.Compartment, p.Value, p.Count))))
                .Concat(slip.Left.Select(p => Cells("left", null, p.Value, p.Count)))).ConfigureAwait(false),
            Form.Html => await PrintedPages.OfAsync<DrawSlipPage>(http, book, book.Line, new()
            {
                [nameof(DrawSlipPage.Household)] = book.Household!.Name,
                [nameof(DrawSlipPage.Book)] = book,
                [nameof(DrawSlipPage.Currency)] = book.Currency.Code,
                [nameof(DrawSlipPage.Slip)] = slip,
            }).ConfigureAwait(false),
            _ => TypedResults.Ok(slip),
        };

    // A row of a sheet is about notes, and a caution is about none of them: it stands where words do, in JSON and on
    // the page.
    private static IReadOnlyList<object?> Cells(string sheet, string? compartment, decimal value, int count) =>
        [sheet, compartment, value, count, value * count];
}
