using System.Security.Cryptography.X509Certificates;

namespace CashEvents.Api.Hosting;

/// <summary>Says how a phone comes to trust the program's own authority, and gives its certificate.</summary>
internal static class TrustEndpoints
{
    /// <summary>Where it is said.</summary>
    public const string Address = "/trust";

    private const string Given = Address + "/authority.crt";

    /// <summary>Adds them; nothing where there is no authority of the program's own. No key is needed.</summary>
    public static void MapTrust(this WebApplication app)
    {
        if (app.Services.GetService<HomeNetwork>()?.Authority is not { } authority)
        {
            return;
        }

        // As a delegate that answers: one of an HttpContext alone would be taken for one that answers by itself.
        Delegate show = (HttpContext http) => PrintedPages.OfAsync<TrustPage>(http, new()
        {
            [nameof(TrustPage.Fingerprint)] = authority.Fingerprint,
            [nameof(TrustPage.Certificate)] = Given,
            [nameof(TrustPage.Until)] = authority.Certificate.NotAfter,
        });
        app.MapGet(Address, show).ExcludeFromDescription();
        app.MapGet(Given, () => TypedResults.File(authority.Certificate.Export(X509ContentType.Cert),
            "application/x-x509-ca-cert", "cashevents-authority.crt")).ExcludeFromDescription();
    }
}
