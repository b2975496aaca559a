using FluentValidation;

namespace CashEvents.Api.Custody;

/// <summary>Cash of a compartment is taken out of its place. Moves no money.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Amount">How much of its cash; all that is there if left out.</param>
/// <param name="Carrier">Who carries it: the name of a key; from a keeper also somebody who holds none, such as a
/// child. The sender's key if left out.</param>
/// <param name="OccurredOn">The household's date on which it was taken; today if left out.</param>
/// <param name="Description">What to write beside it, at most 200 characters.</param>
public sealed record HandoverRequest(string? Compartment, decimal? Amount, string? Carrier, DateOnly? OccurredOn,
    string? Description);

/// <summary>What was carried is put back, and the whole compartment is counted there.</summary>
/// <param name="Total">What was found in the compartment; or else the denominations.</param>
/// <param name="Denominations">How many of each note and coin, as <c>{"20": 3, "0.50": 5}</c>.</param>
/// <param name="OccurredOn">The household's date on which it came back; today if left out.</param>
/// <param name="Witness">Who else was at the count.</param>
/// <param name="Description">What to write beside it, at most 200 characters.</param>
public sealed record HandoverReturnRequest(decimal? Total, IReadOnlyDictionary<string, long>? Denominations,
    DateOnly? OccurredOn, string? Witness, string? Description);

/// <summary>A handover just written.</summary>
/// <param name="Lines">The line that says so.</param>
/// <param name="EntryId">Its entry.</param>
/// <param name="Id">The handover's id, by which it comes back.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Carrier">Who carries it.</param>
/// <param name="Amount">How much.</param>
/// <param name="Since">The day on which it was taken.</param>
/// <param name="LiesInPlace">What of the compartment's cash lies in its place still.</param>
public sealed record HandoverAnswer(IReadOnlyList<long> Lines, long EntryId, long Id, string Compartment,
    string Carrier, decimal Amount, DateOnly Since, decimal LiesInPlace)
{
    /// <summary>What whoever carries it should know; absent when there is nothing.</summary>
    public IReadOnlyList<CautionAnswer>? Cautions { get; init; }
}

/// <summary>A handover that came back, with the count that found it.</summary>
/// <param name="Lines">The line that says so, and the count's.</param>
/// <param name="EntryId">Their entry.</param>
/// <param name="Handover">The handover's id.</param>
/// <param name="Compartment">Whose cash it is.</param>
/// <param name="Carrier">Who carried it.</param>
/// <param name="CountId">The count's id, by which it is settled.</param>
/// <param name="Expected">What the book expected in the compartment.</param>
/// <param name="Counted">What was found.</param>
/// <param name="Difference">Counted minus expected: over when positive, short when negative.</param>
public sealed record HandoverReturnAnswer(
    IReadOnlyList<long> Lines, long EntryId, long Handover, string Compartment, string Carrier, long CountId,
    decimal Expected, decimal Counted, decimal Difference);

internal sealed class HandoverRequestValidator : AbstractValidator<HandoverRequest>
{
    public HandoverRequestValidator()
    {
        RuleFor(r => r.Compartment).IsCompartment();
        RuleFor(r => r.Amount).GreaterThan(0m)
            .WithMessage("`amount` is {PropertyValue}: write what was taken, above zero, or leave it out for all that "
                + "is there.");
    }
}

internal sealed class HandoverReturnRequestValidator : AbstractValidator<HandoverReturnRequest>
{
    public HandoverReturnRequestValidator()
    {
        RuleFor(r => r.Total).Must((r, total) => total is null != r.Denominations is null)
            .WithMessage("Send either `total`, or `denominations` such as {\"20\": 3, \"0.50\": 5}.");
        RuleFor(r => r.Total).GreaterThanOrEqualTo(0m).WithMessage("`total` is what was found: zero or more.");
    }
}

internal sealed class HandoverEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapPost("/handovers", async (HttpContext http, Caller caller, Body<HandoverRequest> body, WriteDesk desk) =>
            {
                caller.MustBeAllowed(MovementKind.Handover);
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    new OpenHandover(sent.Compartment!, sent.Amount, sent.Carrier, sent.OccurredOn, sent.Description),
                    "handover", sent).ConfigureAwait(false);
                var handover = entry.Handover!;
                decimal Say(Money money) => currency!.ToDecimal(money);
                return TypedResults.Created($"/api/lines/{entry.Id}", new HandoverAnswer(
                    entry.Lines, entry.Id!.Value, handover.Id, handover.Compartment, handover.Carrier,
                    Say(handover.Carried), handover.Since, Say(entry.Balances[0].Balance - handover.Carried))
                { Cautions = CautionAnswer.Of(entry.Cautions, currency) });
            })
            .Accepts<HandoverRequest>("application/json")
            .Produces<HandoverAnswer>(StatusCodes.Status201Created)
            .RefusesWrites()
            .WithSummary("Hand cash over: it is taken out of its place and carried by somebody")
            .WithDescription("Moves no money. One person at a time carries from a compartment. What the "
                + "carrier's key spends comes from what they carry first. Anybody else who spends more than lies "
                + "in its place is refused and asked, since two people can't spend the same notes. The carrier "
                + "holds a key of this household. Only a keeper may name somebody who holds none. A script's key "
                + "needs `handover` among its movements.")
            .WithExample(
                """{"compartment": "saved-in-september", "amount": 40.00, "carrier": "partner", "description": "To the mainland"}""",
                """{"lines": [41], "entryId": 41, "id": 41, "compartment": "saved-in-september", "carrier": "partner", "amount": 40.00, "since": "2026-11-14", "liesInPlace": 24.00}""");

        api.MapPost("/handovers/{id:long}/return",
            async (HttpContext http, Caller caller, long id, Body<HandoverReturnRequest> body, WriteDesk desk) =>
            {
                caller.MustBeAllowed(MovementKind.Handover);
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    new ReturnHandover(id, sent.Total, sent.Denominations, sent.OccurredOn, sent.Witness,
                        sent.Description), $"return of {id}", sent).ConfigureAwait(false);
                var (handover, count) = (entry.Handover!, entry.Count!);
                decimal Say(Money money) => currency!.ToDecimal(money);
                return TypedResults.Created($"/api/lines/{entry.Id}", new HandoverReturnAnswer(
                    entry.Lines, entry.Id!.Value, handover.Id, handover.Compartment, handover.Carrier, count.Line,
                    Say(count.Expected), Say(count.Counted), Say(count.Difference)));
            })
            .Accepts<HandoverReturnRequest>("application/json")
            .Produces<HandoverReturnAnswer>(StatusCodes.Status201Created)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("Bring back what was carried, with a count of the whole compartment")
            .WithDescription("Put it back first, then count all that is in the compartment. An ordinary count "
                + "follows in the same entry. What is over or short is settled as always. A script's key needs "
                + "`handover` and `count` among its movements.")
            .WithParameter("id", "The handover's id.", "41")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(
                """{"denominations": {"20": 2, "5": 2, "0.50": 1}}""",
                """{"lines": [47, 48], "entryId": 47, "handover": 41, "compartment": "ferry-fares", "carrier": "partner", "countId": 48, "expected": 51.20, "counted": 50.50, "difference": -0.70}""");
    }
}

/// <summary>A line of the kind <c>handover</c>.</summary>
public sealed record HandoverLine : LineAnswer, ILineOf<HandedOver>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>Who carries cash from a handover on.</summary>
    public required string Carrier { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    static LineAnswer ILineOf<HandedOver>.Of(HandedOver e, LineTelling told) =>
        new HandoverLine
        {
            Compartment = e.Compartment,
            Holding = Domain.Books.Holding.Cash,
            Carrier = e.Carrier,
            Amount = told.Say(e.Amount)
        };
}

/// <summary>A line of the kind <c>handoverReturned</c>.</summary>
public sealed record HandoverReturnedLine : LineAnswer, ILineOf<HandoverReturned>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>Which of its holdings; what is handed over or exchanged is cash.</summary>
    public required Holding Holding { get; init; }

    /// <summary>The handover that it brings back, or from or to whose notes it moves money.</summary>
    public required long Handover { get; init; }

    static LineAnswer ILineOf<HandoverReturned>.Of(HandoverReturned e, LineTelling told) =>
        new HandoverReturnedLine
        {
            Compartment = e.Compartment,
            Holding = Domain.Books.Holding.Cash,
            Handover = e.Handover
        };
}
