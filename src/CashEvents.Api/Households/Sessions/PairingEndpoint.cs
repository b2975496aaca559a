using FluentValidation;
using Microsoft.AspNetCore.Hosting.Server;
using QRCoder;

namespace CashEvents.Api.Households;

/// <summary>A phone that is to be paired.</summary>
/// <param name="Name">Name of the key that it gets.</param>
/// <param name="Role">What it may do: keeper, member or viewer.</param>
/// <param name="Address">Where the phone reaches this server, such as <c>https://harbour.example</c>; as the sender
/// reached it if left out.</param>
public sealed record PairingRequest(string? Name, Role? Role, string? Address);

/// <summary>A code to pair a phone with.</summary>
/// <param name="Address">What the phone opens, with the code in it.</param>
/// <param name="Picture">The same as a QR code (ISO/IEC 18004), an SVG picture.</param>
/// <param name="GoodForSeconds">How long it is good for.</param>
public sealed record PairingAnswer(string Address, string Picture, int GoodForSeconds);

internal sealed class PairingRequestValidator : AbstractValidator<PairingRequest>
{
    public PairingRequestValidator()
    {
        RuleFor(r => r.Name).NotEmpty().WithMessage("`name` is needed: whose phone it is.");
        RuleFor(r => r.Role).Must(role => role is Role.Keeper or Role.Member or Role.Viewer)
            .WithMessage("`role` is needed: keeper, member or viewer.");
        RuleFor(r => r.Address).Must(address => address is null
                || (Uri.TryCreate(address, UriKind.Absolute, out var uri) && uri.Scheme is "http" or "https"))
            .WithMessage("`address` is where the phone reaches this server, such as https://harbour.example.");
    }
}

internal sealed class PairingEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/pairings", async (HttpContext http, Caller caller, Body<PairingRequest> body, BookReader books,
            OneTimeCodes codes, TimeProvider clock, IServer server, IServiceProvider services) =>
        {
            caller.MustKeep();
            var (name, role, address) = body.Value;
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var now = clock.GetUtcNow();

            // A name that can't be had is told now, and not to who holds the phone.
            book.Decide(new IssueKey(name!, role!.Value, [], KeyRing.Hash("")) { AskedAt = now },
                book.Household!.DateAt(now));
            var pairing = new Pairing(caller, name!, role.Value);
            var link = $"{(address ?? Reached(http, server, services.GetService<HomeNetwork>())).TrimEnd('/')}/enter#"
                + codes.Issue(pairing);
            return TypedResults.Ok(new PairingAnswer(link, Picture(link), (int)pairing.GoodFor!.Value.TotalSeconds));
        })
        .ExcludeFromDescription();

    // At this machine the keeper reaches it by a name that leads a phone to itself.
    private static string Reached(HttpContext http, IServer server, HomeNetwork? network)
    {
        var here = $"{http.Request.Scheme}://{http.Request.Host}";
        return network is not null && new Uri(here).IsLoopback ? network.Address(server) ?? here : here;
    }

    private static string Picture(string link)
    {
        using var data = QRCodeGenerator.GenerateQrCode(link, QRCodeGenerator.ECCLevel.M);
        using var picture = new SvgQRCode(data);
        return picture.GetGraphic(4, "#000000", "#ffffff", sizingMode: SvgQRCode.SizingMode.ViewBoxAttribute);
    }
}
