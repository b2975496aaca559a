using CashEvents.Api.Documentation;
using CashEvents.Api.Http;
using CashEvents.Domain.Books;
using CashEvents.Domain.Naming;
using CashEvents.Domain.Wallets;
using CashEvents.Store.Books;
using FluentValidation;

namespace CashEvents.Api.Wallets;

/// <summary>A physical holder to be taken into use.</summary>
/// <param name="Label">What is written on it; its id is made from this.</param>
public sealed record WalletRequest(string? Label);

/// <summary>A physical holder with several compartments.</summary>
/// <param name="Id">Made from its label.</param>
/// <param name="Label">What is written on it.</param>
public sealed record WalletAnswer(string Id, string Label)
{
    internal static WalletAnswer Of(Wallet wallet) => new(wallet.Id, wallet.Label);
}

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
    public WalletRequestValidator() => RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what is written on the wallet.");
}

internal static class WalletEndpoints
{
    public static void MapWallets(this IEndpointRouteBuilder api)
    {
        api.MapPost("/wallets", async (HttpContext http, Caller caller, Body<WalletRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var (entry, _) = await desk.WriteAsync(http, new OpenWallet(body.Value.Label!), "wallet", body.Value).ConfigureAwait(false);
                var wallet = entry.Wallet!;
                return TypedResults.Created($"/api/wallets/{Uri.EscapeDataString(wallet.Id)}", new WalletOpenedAnswer(wallet.Id, wallet.Label, entry.Lines, entry.Id));
            })
            .Accepts<WalletRequest>("application/json")
            .Produces<WalletOpenedAnswer>(StatusCodes.Status201Created)
            .RefusesWrites()
            .WithTags("Wallets and compartments")
            .WithSummary("Take a wallet into use")
            .WithExample("""{"label": "Oilskin wallet"}""", """{"id": "oilskin-wallet", "label": "Oilskin wallet", "lines": [4], "entryId": 4}""");

        api.MapGet("/wallets", async (HttpContext http, Caller caller, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                return Answers.IsKnown(http, book.Line)
                    ? (IResult)TypedResults.StatusCode(StatusCodes.Status304NotModified)
                    : TypedResults.Ok(new WalletsAnswer([.. book.Wallets.Values.OrderBy(w => w.Line).Select(WalletAnswer.Of)]));
            })
            .Produces<WalletsAnswer>()
            .RefusesReads()
            .WithTags("Wallets and compartments")
            .WithSummary("The wallets, in the order they were taken into use")
            .WithExample(null, """{"wallets": [{"id": "oilskin-wallet", "label": "Oilskin wallet"}, {"id": "desk-drawer", "label": "Desk drawer"}]}""");

        api.MapGet("/wallets/{id}", async (HttpContext http, Caller caller, string id, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var wallet = book.Wallets.TryGetValue(id, out var found) ? found
                    : throw Refusal.NotFound("wallet-unknown", $"There is no wallet '{id}'.", NearNames.Of(id, book.Wallets.Keys));
                return Answers.IsKnown(http, book.Line)
                    ? (IResult)TypedResults.StatusCode(StatusCodes.Status304NotModified)
                    : TypedResults.Ok(WalletAnswer.Of(wallet));
            })
            .Produces<WalletAnswer>()
            .RefusesReads(StatusCodes.Status404NotFound)
            .WithTags("Wallets and compartments")
            .WithSummary("One wallet")
            .WithExample(null, """{"id": "oilskin-wallet", "label": "Oilskin wallet"}""");
    }
}
