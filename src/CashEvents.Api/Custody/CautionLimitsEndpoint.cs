using FluentValidation;

namespace CashEvents.Api.Custody;

/// <summary>
/// Above which amounts of cash the household would be cautioned, whole: what is left out is not stated any more.
/// </summary>
/// <param name="CashAtHome">Of cash at home; in the United States the limit of the standard homeowners form holds where
/// none is stated.</param>
/// <param name="Carried">Of what one person carries.</param>
public sealed record CautionLimitsRequest(decimal? CashAtHome, decimal? Carried)
{
    /// <summary>What it asks the book to write.</summary>
    internal SetCautionLimits ToCommand() => new(CashAtHome, Carried);
}

/// <summary>What was written of the limits.</summary>
/// <param name="Lines">The line that says so; none when they were set like this already.</param>
/// <param name="EntryId">Its entry.</param>
public sealed record CautionLimitsSetAnswer(IReadOnlyList<long> Lines, long? EntryId)
{
    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class CautionLimitsRequestValidator : AbstractValidator<CautionLimitsRequest>
{
    public CautionLimitsRequestValidator()
    {
        RuleFor(r => r.CashAtHome).GreaterThan(0m).WithMessage("`cashAtHome` is an amount above zero, or left out.");
        RuleFor(r => r.Carried).GreaterThan(0m).WithMessage("`carried` is an amount above zero, or left out.");
    }
}

internal sealed class CautionLimitsEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapPut("/caution-limits",
            async (HttpContext http, Caller caller, Body<CautionLimitsRequest> body, WriteDesk desk) =>
        {
            caller.MustKeep();
            var sent = body.Value;
            var (entry, _) = await desk.WriteAsync(http, sent.ToCommand(),
                "caution limits", sent).ConfigureAwait(false);
            return TypedResults.Ok(new CautionLimitsSetAnswer(entry.Lines,
                entry.Id)
            {
                Note = entry.Lines.IsEmpty
                    ? "They are set like this already. Nothing was written."
                    : null
            });
        })
        .Accepts<CautionLimitsRequest>("application/json")
        .Produces<CautionLimitsSetAnswer>()
        .RefusesWrites()
        .WithSummary("State above which amounts of cash the household would be cautioned; replaces all that was "
            + "stated")
        .WithDescription("Read what your own insurance policy covers, at home and away, and write that. A "
            + "household in the United States with a book in dollars has 200 dollars for cash at home where it "
            + "states nothing. That is the limit of the standard homeowners form (ISO HO 00 03). Elsewhere there "
            + "is no limit that this program could name. GET /api/custody tells the limits in force.")
        .WithExample("""{"cashAtHome": 500.00, "carried": 100.00}""", """{"lines": [31], "entryId": 31}""");
}

/// <summary>A line of the kind <c>cautionLimits</c>.</summary>
public sealed record CautionLimitsLine : LineAnswer, ILineOf<CautionLimitsSet>
{
    /// <summary>The household's limit for cash at home.</summary>
    public decimal? CashAtHomeLimit { get; init; }

    /// <summary>The household's limit for what one person carries.</summary>
    public decimal? CarriedLimit { get; init; }

    static LineAnswer ILineOf<CautionLimitsSet>.Of(CautionLimitsSet e, LineTelling told) =>
        new CautionLimitsLine
        {
            CashAtHomeLimit = e.CashAtHome is { } home ? told.Say(home) : null,
            CarriedLimit = e.Carried is { } most ? told.Say(most) : null
        };
}
