using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>A compartment's fill rule, described whole.</summary>
/// <param name="Kind">What it gets on a payday.</param>
/// <param name="Amount">Of the kind <c>fixed</c>: how much.</param>
/// <param name="Share">Of the kind <c>share</c>: how much of what the earlier ranks leave, in percent with at most two
/// decimals.</param>
/// <param name="Ceiling">The balance, the total of cash and bank, above which it is never filled; the kind
/// <c>ceiling</c> fills up to it.</param>
/// <param name="Holding">Where it is filled; cash if left out. A contribution goes where its sinking fund is
/// kept.</param>
/// <param name="Rank">1 to 99; 1 is filled first, and meant if left out.</param>
/// <param name="RoundTo">The step in which it is filled, such as 5.00 for whole fives; where a fill is divided between
/// cash and bank, the step of its cash part. If left out, whole notes of the household's smallest to draw in cash,
/// exact amounts in the bank.</param>
public sealed record FillRuleRequest(FillRuleKind? Kind, decimal? Amount, decimal? Share, decimal? Ceiling,
    Holding? Holding, int? Rank, decimal? RoundTo)
{
    internal SetFillRule ToCommand(string compartment) =>
        new(compartment, Kind!.Value, Amount, Share, Ceiling, Holding, Rank, RoundTo);
}

/// <summary>A compartment's fill rule.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Kind">What it gets on a payday.</param>
/// <param name="Amount">How much, where that is fixed.</param>
/// <param name="Share">How much of what the earlier ranks leave, in percent.</param>
/// <param name="Ceiling">The balance above which it is never filled.</param>
/// <param name="Holding">Where it is filled; absent for a contribution.</param>
/// <param name="Rank">1 is filled first.</param>
/// <param name="RoundTo">The step in which it is filled.</param>
public sealed record FillRuleAnswer(string Compartment, string Label, FillRuleKind Kind, decimal? Amount,
    decimal? Share, decimal? Ceiling, Holding? Holding, int Rank, decimal? RoundTo)
{
    /// <summary>Closed compartments are not filled; their rules come into force again with them.</summary>
    public bool? Closed { get; init; }

    internal static FillRuleAnswer Of(FillRule rule, Compartment compartment, Currency? currency)
    {
        return new FillRuleAnswer(
            compartment.Id, compartment.Label, rule.Kind, Say(rule.Amount), rule.ShareBasisPoints / 100m,
            Say(rule.Ceiling),
            rule.Kind == FillRuleKind.Contribution ? null : rule.Holding, rule.Rank, Say(rule.RoundTo))
        { Closed = compartment.Closed ? true : null };

        decimal? Say(Money? money) => money is { } amount ? currency!.ToDecimal(amount) : null;
    }
}

/// <summary>The household's fill rules.</summary>
/// <param name="FillRules">By rank, within a rank in the order in which the compartments were taken into use.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record FillRulesAnswer(IReadOnlyList<FillRuleAnswer> FillRules, long BookLine);

/// <summary>What setting a fill rule wrote.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="Compartment">Its compartment.</param>
public sealed record FillRuleSetAnswer(IReadOnlyList<long> Lines, long? EntryId, string Compartment)
{
    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class FillRuleRequestValidator : AbstractValidator<FillRuleRequest>
{
    public FillRuleRequestValidator() => RuleFor(r => r.Kind)
        .NotNull().WithMessage("`kind` is needed: \"weekly\", \"contribution\", \"fixed\", \"share\" or \"ceiling\".");
}

internal sealed class FillRuleEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        MapList(api);
        MapSetting(api);
        MapRemoving(api);
    }

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/fill-rules", async (HttpContext http, Caller caller, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new FillRulesAnswer(
                [
                    .. book.FillRules.Values.Select(
                        rule => (Rule: rule, Compartment: book.Compartments[rule.Compartment]))
                        .OrderBy(r => r.Rule.Rank).ThenBy(r => r.Compartment.Line)
                        .Select(r => FillRuleAnswer.Of(r.Rule, r.Compartment, book.Household?.Currency)),
                ],
                book.Line));
        })
        .Produces<FillRulesAnswer>()
        .RefusesReads()
        .WithSummary("How each compartment is filled on paydays, in the order of their ranks")
        .WithExample(null, """
            {"fillRules": [
               {"compartment": "boat-insurance", "label": "Boat insurance", "kind": "contribution", "rank": 1},
               {"compartment": "ferry-fares", "label": "Ferry fares", "kind": "weekly", "holding": "cash", "rank": 2, "roundTo": 5.00},
               {"compartment": "rainy-day", "label": "Rainy day", "kind": "share", "share": 50, "ceiling": 600.00, "holding": "bank", "rank": 3}],
             "bookLine": 74}
            """);

    private static void MapSetting(IEndpointRouteBuilder api) => api
        .MapPut("/compartments/{id}/fill-rule",
            async (HttpContext http, Caller caller, string id, Body<FillRuleRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var (entry, _) = await desk.WriteAsync(http, body.Value.ToCommand(id), $"fill rule {id}", body.Value)
                    .ConfigureAwait(false);
                return TypedResults.Ok(new FillRuleSetAnswer(entry.Lines, entry.Id, id)
                {
                    Note = entry.Lines.IsEmpty ? "It is set like this already. Nothing was written." : null,
                });
            })
        .Accepts<FillRuleRequest>("application/json")
        .Produces<FillRuleSetAnswer>()
        .RefusesWrites()
        .WithSummary("Set how a compartment is filled on paydays; replaces its rule")
        .WithDescription("`weekly` is the plan's weekly amounts by days until the next payday. `contribution` is a "
            + "sinking "
            + "fund's level contribution. `fixed` is an amount, `share` a share of what the earlier ranks leave, and "
            + "`ceiling` what is missing up to a balance. `roundTo` rounds what is wanted up to its step; shares and "
            + "ceilings are rounded down. Of a contribution the cash part is the nearest whole step and the bank "
            + "takes the rest.")
        .WithParameter("id", "The compartment's id.", "ferry-fares")
        .WithExample(
            """{"kind": "weekly", "rank": 2, "roundTo": 5.00}""",
            """{"lines": [73], "entryId": 73, "compartment": "ferry-fares"}""");

    private static void MapRemoving(IEndpointRouteBuilder api) => api
        .MapDelete("/compartments/{id}/fill-rule",
            async (HttpContext http, Caller caller, string id, WriteDesk desk) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                await desk.WriteAsync(http, new RemoveFillRule(id), $"remove fill rule {id}", id).ConfigureAwait(false);
                return TypedResults.NoContent();
            })
        .Produces(StatusCodes.Status204NoContent)
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Remove a compartment's fill rule")
        .WithParameter("id", "The compartment's id.", "ferry-fares")
        .WithExample(null, null);
}

/// <summary>A line of the kind <c>fillRule</c>.</summary>
public sealed record FillRuleLine : LineAnswer, ILineOf<FillRuleSet>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>What a fill rule gives its compartment.</summary>
    public required FillRuleKind FillRule { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public decimal? Amount { get; init; }

    /// <summary>The share of a fill rule, in percent.</summary>
    public decimal? Share { get; init; }

    /// <summary>The balance above which a compartment is never filled.</summary>
    public decimal? Ceiling { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>The rank of a fill rule; 1 is filled first.</summary>
    public required int Rank { get; init; }

    /// <summary>The step in which a compartment is filled.</summary>
    public decimal? RoundTo { get; init; }

    static LineAnswer ILineOf<FillRuleSet>.Of(FillRuleSet e, LineTelling told) =>
        new FillRuleLine
        {
            Compartment = e.Compartment,
            FillRule = e.Kind,
            Amount = e.Amount is { } fixedAmount ? told.Say(fixedAmount) : null,
            Share = e.ShareBasisPoints / 100m,
            Ceiling = e.Ceiling is { } ceiling ? told.Say(ceiling) : null,
            Holding = e.Holding,
            Rank = e.Rank,
            RoundTo = e.RoundTo is { } step ? told.Say(step) : null
        };
}

/// <summary>A line of the kind <c>fillRuleRemoved</c>.</summary>
public sealed record FillRuleRemovedLine : LineAnswer, ILineOf<FillRuleRemoved>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    static LineAnswer ILineOf<FillRuleRemoved>.Of(FillRuleRemoved e, LineTelling told) =>
        new FillRuleRemovedLine { Compartment = e.Compartment };
}
