using FluentValidation;

namespace CashEvents.Api.Households;

/// <summary>A labelled place to be taken into use.</summary>
/// <param name="Label">What is written on it; its id is made from this.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
public sealed record CompartmentRequest(string? Label, string? Wallet, Purpose? Purpose);

/// <summary>What is to change about a compartment; what is left out stays.</summary>
/// <param name="Label">A new label; the id stays.</param>
/// <param name="Wallet">Another wallet's id.</param>
/// <param name="Closed">True takes an empty compartment out of use, false back into use.</param>
public sealed record CompartmentChangeRequest(string? Label, string? Wallet, bool? Closed);

/// <summary>A labelled place for one purpose's money.</summary>
/// <param name="Id">Made from its first label; stays.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Wallet">Id of the wallet it is in.</param>
/// <param name="Purpose">What its money is for.</param>
/// <param name="Closed">Out of use.</param>
/// <param name="Cash">Balance of its notes and coins.</param>
/// <param name="Bank">Balance of its part in the bank.</param>
/// <param name="Total">The total of both.</param>
public sealed record CompartmentAnswer(string Id, string Label, string Wallet, Purpose Purpose, bool Closed,
    decimal Cash, decimal Bank, decimal Total)
{
    /// <summary>The lines just written about it; absent when it is only read.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>Their entry.</summary>
    public long? EntryId { get; init; }

    /// <summary>
    /// A compartment in this API's words. Before the household names its currency there are no amounts, and zero is
    /// plain.
    /// </summary>
    internal static CompartmentAnswer Of(Compartment c, Currency? currency)
    {
        decimal Say(Money money) => currency?.ToDecimal(money) ?? 0m;
        return new CompartmentAnswer(c.Id, c.Label, c.Wallet, c.Purpose, c.Closed, Say(c.Cash), Say(c.Bank),
            Say(c.Cash + c.Bank));
    }
}

/// <summary>The household's compartments.</summary>
/// <param name="Compartments">In the order they were taken into use, closed ones too.</param>
/// <param name="Line">The book's line at which they stand.</param>
public sealed record CompartmentsAnswer(IReadOnlyList<CompartmentAnswer> Compartments, long Line);

internal sealed class CompartmentRequestValidator : AbstractValidator<CompartmentRequest>
{
    public CompartmentRequestValidator()
    {
        RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what is written on the compartment.");
        RuleFor(r => r.Wallet).NotEmpty().WithMessage("`wallet` names the wallet it is in, by its id.");
        RuleFor(r => r.Purpose).NotNull().WithMessage("`purpose` is needed: spending, saving or sinkingFund.");
    }
}

internal sealed class CompartmentChangeRequestValidator : AbstractValidator<CompartmentChangeRequest>
{
    public CompartmentChangeRequestValidator() => RuleFor(r => r)
        .Must(r => r.Label is not null || r.Wallet is not null || r.Closed is not null)
        .OverridePropertyName("$")
        .WithMessage("Send at least one of label, wallet and closed.");
}

internal sealed class CompartmentEndpoints : IEndpoints
{
    private const string One =
        """{"id": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending", "closed": false, "cash": 64.00, "bank": 0.00, "total": 64.00}""";

    public static void Map(IEndpointRouteBuilder api)
    {
        MapOpening(api);
        MapList(api);
        MapOne(api);
        MapChanging(api);
    }

    private static void MapOpening(IEndpointRouteBuilder api) => api
        .MapPost("/compartments",
            async (HttpContext http, Caller caller, Body<CompartmentRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    new OpenCompartment(sent.Label!, sent.Wallet!, sent.Purpose!.Value), "compartment", sent)
                    .ConfigureAwait(false);
                var answer = CompartmentAnswer.Of(entry.Compartment!, currency) with
                {
                    Lines = entry.Lines,
                    EntryId = entry.Id
                };
                return TypedResults.Created($"/api/compartments/{Uri.EscapeDataString(answer.Id)}", answer);
            })
        .Accepts<CompartmentRequest>("application/json")
        .Produces<CompartmentAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Take a compartment into use")
        .WithExample(
            """{"label": "Lamp oil", "wallet": "oilskin-wallet", "purpose": "spending"}""",
            """{"id": "lamp-oil", "label": "Lamp oil", "wallet": "oilskin-wallet", "purpose": "spending", "closed": false, "cash": 0.00, "bank": 0.00, "total": 0.00, "lines": [6], "entryId": 6}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/compartments", async (HttpContext http, Caller caller, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new CompartmentsAnswer(
                    [.. book.Compartments.Values.OrderBy(c => c.Line)
                        .Select(c => CompartmentAnswer.Of(c, book.Household?.Currency))], book.Line));
        })
        .Produces<CompartmentsAnswer>()
        .RefusesReads()
        .WithSummary("The compartments, in the order they were taken into use, closed ones too")
        .WithExample(null, $$"""{"compartments": [{{One}}], "line": 61}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/compartments/{id}", async (HttpContext http, Caller caller, string id, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var compartment = book.CompartmentNamed(id);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(CompartmentAnswer.Of(compartment, book.Household?.Currency));
        })
        .Produces<CompartmentAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("One compartment")
        .WithParameter("id", "The compartment's id.", "ferry-fares")
        .WithExample(null, One);

    private static void MapChanging(IEndpointRouteBuilder api) => api
        .MapPatch("/compartments/{id}",
            async (HttpContext http, Caller caller, string id, Body<CompartmentChangeRequest> body, WriteDesk desk,
                BookReader books) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, currency) = await desk.WriteAsync(http,
                    new ChangeCompartment(id, sent.Label, sent.Wallet, sent.Closed), $"compartment {id}", sent)
                    .ConfigureAwait(false);
                var compartment = entry.Compartment
                    ?? (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false))
                        .CompartmentNamed(id);
                return TypedResults.Ok(CompartmentAnswer.Of(compartment, currency) with
                {
                    Lines = entry.Lines,
                    EntryId = entry.Id
                });
            })
        .Accepts<CompartmentChangeRequest>("application/json")
        .Produces<CompartmentAnswer>()
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Relabel a compartment, move it to another wallet, close it when empty, or reopen it")
        .WithParameter("id", "The compartment's id.", "ferry-fares")
        .WithExample(
            """{"label": "Ferry and bus fares"}""",
            """{"id": "ferry-fares", "label": "Ferry and bus fares", "wallet": "oilskin-wallet", "purpose": "spending", "closed": false, "cash": 64.00, "bank": 0.00, "total": 64.00, "lines": [63], "entryId": 63}""");
}

/// <summary>A line of the kind <c>compartmentOpened</c>.</summary>
public sealed record CompartmentOpenedLine : LineAnswer, ILineOf<CompartmentOpened>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    /// <summary>The wallet it is about.</summary>
    public required string Wallet { get; init; }

    /// <summary>A compartment's purpose.</summary>
    public required Purpose Purpose { get; init; }

    static LineAnswer ILineOf<CompartmentOpened>.Of(CompartmentOpened e, LineTelling told) =>
        new CompartmentOpenedLine
        {
            Compartment = e.Compartment,
            Label = e.Label,
            Wallet = e.Wallet,
            Purpose = e.Purpose
        };
}

/// <summary>A line of the kind <c>compartmentRelabelled</c>.</summary>
public sealed record CompartmentRelabelledLine : LineAnswer, ILineOf<CompartmentRelabelled>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    static LineAnswer ILineOf<CompartmentRelabelled>.Of(CompartmentRelabelled e, LineTelling told) =>
        new CompartmentRelabelledLine { Compartment = e.Compartment, Label = e.Label };
}

/// <summary>A line of the kind <c>compartmentMoved</c>.</summary>
public sealed record CompartmentMovedLine : LineAnswer, ILineOf<CompartmentMoved>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>The wallet it is about.</summary>
    public required string Wallet { get; init; }

    static LineAnswer ILineOf<CompartmentMoved>.Of(CompartmentMoved e, LineTelling told) =>
        new CompartmentMovedLine { Compartment = e.Compartment, Wallet = e.Wallet };
}

/// <summary>A line of the kind <c>compartmentClosed</c>.</summary>
public sealed record CompartmentClosedLine : LineAnswer, ILineOf<CompartmentClosed>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    static LineAnswer ILineOf<CompartmentClosed>.Of(CompartmentClosed e, LineTelling told) =>
        new CompartmentClosedLine { Compartment = e.Compartment };
}

/// <summary>A line of the kind <c>compartmentReopened</c>.</summary>
public sealed record CompartmentReopenedLine : LineAnswer, ILineOf<CompartmentReopened>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    static LineAnswer ILineOf<CompartmentReopened>.Of(CompartmentReopened e, LineTelling told) =>
        new CompartmentReopenedLine { Compartment = e.Compartment };
}
