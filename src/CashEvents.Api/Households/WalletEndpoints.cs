using FluentValidation;

namespace CashEvents.Api.Households;

/// <summary>A physical holder to be taken into use.</summary>
/// <param name="Label">What is written on it; its id is made from this.</param>
public sealed record WalletRequest(string? Label);

/// <summary>A physical holder with several compartments.</summary>
/// <param name="Id">Made from its label.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Closed">Out of use.</param>
public sealed record WalletAnswer(string Id, string Label, bool Closed)
{
    /// <summary>The lines just written about it; absent when it is only read.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>Their entry.</summary>
    public long? EntryId { get; init; }

    internal static WalletAnswer Of(Wallet wallet) => new(wallet.Id, wallet.Label, wallet.Closed);
}

/// <summary>What is to change about a wallet; what is left out stays.</summary>
/// <param name="Label">A new label; the id stays.</param>
/// <param name="Closed">True takes an empty wallet out of use, false back into use.</param>
public sealed record WalletChangeRequest(string? Label, bool? Closed);

/// <summary>A wallet just taken into use.</summary>
/// <param name="Id">Made from its label.</param>
/// <param name="Label">What is written on it.</param>
/// <param name="Lines">The line that says so.</param>
/// <param name="EntryId">Its entry.</param>
public sealed record WalletOpenedAnswer(string Id, string Label, IReadOnlyList<long> Lines, long? EntryId);

/// <summary>The household's wallets.</summary>
/// <param name="Wallets">In the order they were taken into use.</param>
public sealed record WalletsAnswer(IReadOnlyList<WalletAnswer> Wallets);

internal sealed class WalletRequestValidator : AbstractValidator<WalletRequest>
{
    public WalletRequestValidator() =>
        RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what is written on the wallet.");
}

internal sealed class WalletEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        MapOpening(api);
        MapList(api);
        MapOne(api);
        MapChanging(api);
    }

    private static void MapOpening(IEndpointRouteBuilder api) => api
        .MapPost("/wallets", async (HttpContext http, Caller caller, Body<WalletRequest> body, WriteDesk desk) =>
        {
            caller.MustKeep();
            var (entry, _) = await desk.WriteAsync(http, new OpenWallet(body.Value.Label!), "wallet", body.Value)
                .ConfigureAwait(false);
            var wallet = entry.Wallet!;
            return TypedResults.Created($"/api/wallets/{Uri.EscapeDataString(wallet.Id)}",
                new WalletOpenedAnswer(wallet.Id, wallet.Label, entry.Lines, entry.Id));
        })
        .Accepts<WalletRequest>("application/json")
        .Produces<WalletOpenedAnswer>(StatusCodes.Status201Created)
        .RefusesWrites()
        .WithSummary("Take a wallet into use")
        .WithExample("""{"label": "Biscuit tin"}""",
            """{"id": "biscuit-tin", "label": "Biscuit tin", "lines": [4], "entryId": 4}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/wallets", async (HttpContext http, Caller caller, string? size, BookReader books) =>
        {
            Reads.OnlyTakes(http, "size");
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var sized = StripsAsked.SizeOf(size, book.Household?.Currency);
            Answers.StampLine(http, book.Line);
            return Forms.Of(http, Form.Html) == Form.Html
                ? await PrintedPages.OfAsync<FrontSheetsPage>(http, book, book.Line, new()
                {
                    [nameof(FrontSheetsPage.Book)] = book,
                    [nameof(FrontSheetsPage.Size)] = sized,
                }).ConfigureAwait(false)
                : TypedResults.Ok(new WalletsAnswer(
                    [.. book.Wallets.Values.OrderBy(w => w.Line).Select(WalletAnswer.Of)]));
        })
        .Produces<WalletsAnswer>(StatusCodes.Status200OK, "application/json", "text/html")
        .RefusesReads()
        .WithSummary("The wallets, in the order they were taken into use, closed ones too")
        .WithDescription("The page has a front sheet for each wallet in use, with what its compartments hold and when "
            + "they were counted, and the household's total.")
        .WithParameter("size", StripsDocumented.Size, "a6")
        .WithExample(null,
            """{"wallets": [{"id": "oilskin-wallet", "label": "Oilskin wallet", "closed": false}, {"id": "desk-drawer", "label": "Desk drawer", "closed": false}]}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/wallets/{id}", async (HttpContext http, Caller caller, string id, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var wallet = book.WalletNamed(id);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(WalletAnswer.Of(wallet));
        })
        .Produces<WalletAnswer>()
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("One wallet")
        .WithParameter("id", "The wallet's id.", "oilskin-wallet")
        .WithExample(null, """{"id": "oilskin-wallet", "label": "Oilskin wallet", "closed": false}""");

    private static void MapChanging(IEndpointRouteBuilder api) => api
        .MapPatch("/wallets/{id}",
            async (HttpContext http, Caller caller, string id, Body<WalletChangeRequest> body, WriteDesk desk,
                BookReader books) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var (entry, _) = await desk.WriteAsync(http, new ChangeWallet(id, sent.Label, sent.Closed),
                    $"wallet {id}", sent).ConfigureAwait(false);
                var wallet = entry.Wallet
                    ?? (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false)).Wallets[id];
                return TypedResults.Ok(WalletAnswer.Of(wallet) with { Lines = entry.Lines, EntryId = entry.Id });
            })
        .Accepts<WalletChangeRequest>("application/json")
        .Produces<WalletAnswer>()
        .RefusesWrites(StatusCodes.Status404NotFound)
        .WithSummary("Relabel a wallet, close it when no compartment in it is in use, or reopen it")
        .WithDescription("A closed wallet lies in no place and takes no compartment. Its lines stay.")
        .WithParameter("id", "The wallet's id.", "oilskin-wallet")
        .WithExample(
            """{"label": "Oilskin pouch"}""",
            """{"id": "oilskin-wallet", "label": "Oilskin pouch", "closed": false, "lines": [64], "entryId": 64}""");
}

/// <summary>A line of the kind <c>walletOpened</c>.</summary>
public sealed record WalletOpenedLine : LineAnswer, ILineOf<WalletOpened>
{
    /// <summary>The wallet it is about.</summary>
    public required string Wallet { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    static LineAnswer ILineOf<WalletOpened>.Of(WalletOpened e, LineTelling told) =>
        new WalletOpenedLine { Wallet = e.Wallet, Label = e.Label };
}

/// <summary>A line of the kind <c>walletRelabelled</c>.</summary>
public sealed record WalletRelabelledLine : LineAnswer, ILineOf<WalletRelabelled>
{
    /// <summary>The wallet it is about.</summary>
    public required string Wallet { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    static LineAnswer ILineOf<WalletRelabelled>.Of(WalletRelabelled e, LineTelling told) =>
        new WalletRelabelledLine { Wallet = e.Wallet, Label = e.Label };
}

/// <summary>A line of the kind <c>walletClosed</c>.</summary>
public sealed record WalletClosedLine : LineAnswer, ILineOf<WalletClosed>
{
    /// <summary>The wallet it is about.</summary>
    public required string Wallet { get; init; }

    static LineAnswer ILineOf<WalletClosed>.Of(WalletClosed e, LineTelling told) =>
        new WalletClosedLine { Wallet = e.Wallet };
}

/// <summary>A line of the kind <c>walletReopened</c>.</summary>
public sealed record WalletReopenedLine : LineAnswer, ILineOf<WalletReopened>
{
    /// <summary>The wallet it is about.</summary>
    public required string Wallet { get; init; }

    static LineAnswer ILineOf<WalletReopened>.Of(WalletReopened e, LineTelling told) =>
        new WalletReopenedLine { Wallet = e.Wallet };
}
