using System.Net;
using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>On the home network over https, with the program's own authority.</summary>
public sealed class HomeNetworkTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Phones_that_trust_the_authority_reach_it_and_a_second_start_has_the_same()
    {
        using var folder = new TemporaryDataFolder();
        string fingerprint;
        await using (var first = await CashEventsProcess.ServeAsync(folder.Path, null, "--lan=0"))
        {
            Assert.DoesNotContain("Caution", first.Output, StringComparison.Ordinal);
            fingerprint = first.Output.Split('\n').Single(line => line.Count(c => c == ':') == 31).Trim();
            Assert.Equal("OK", await AskAsync(first, folder.Path, "localhost", "/health/live"));
            Assert.Equal("OK", await AskAsync(first, folder.Path, "127.0.0.1", "/health/live"));
            var trust = await AskAsync(first, folder.Path, "127.0.0.1", "/trust");
            Assert.Contains(fingerprint, trust, StringComparison.Ordinal);
            // A phone that is paired is led to where phones reach this machine.
            var key = await File.ReadAllTextAsync(Path.Combine(folder.Path, "keeper.key"), Stop);
            var pairing = (await first.Client(key.Trim()).PostAsync("/api/pairings",
                """{"name": "partner's phone", "role": "member"}""")).MustBe(200).Json.GetProperty("address").GetString()!;
            Assert.True(first.Output.Contains("on no network", StringComparison.Ordinal) || first.Output.Contains(
                "On the home network: " + new Uri(pairing).GetLeftPart(UriPartial.Authority),
                StringComparison.Ordinal), pairing + first.Output);
            var given = await ClientOf(folder.Path).GetByteArrayAsync(
                new Uri(Https(first, "127.0.0.1") + "/trust/authority.crt"), Stop);
            using var authority = X509CertificateLoader.LoadCertificate(given);
            Assert.Equal(fingerprint, string.Join(':',
                authority.GetCertHash(HashAlgorithmName.SHA256).Select(b => $"{b:X2}")));
        }

        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite,
                File.GetUnixFileMode(Path.Combine(folder.Path, "authority.key")));
        }

        await using var second = await CashEventsProcess.ServeAsync(folder.Path, null, "--lan=0");
        Assert.Contains(fingerprint, second.Output, StringComparison.Ordinal);
        Assert.Equal("OK", await AskAsync(second, folder.Path, "localhost", "/health/live"));
    }

    [ThoroughFact]
    public async Task Without_being_asked_it_listens_at_this_machine_alone_and_over_plain_http_it_warns()
    {
        using var folder = new TemporaryDataFolder();
        await using (var alone = await CashEventsProcess.ServeAsync(folder.Path))
        {
            Assert.DoesNotContain("home network", alone.Output, StringComparison.Ordinal);
            Assert.False(File.Exists(Path.Combine(folder.Path, "authority.key")));
        }

        await using var plain = await CashEventsProcess.ServeAsync(folder.Path, null, "--lan=http:0");
        Assert.Contains("Caution: others on the network can reach it. Over plain http", plain.Output,
            StringComparison.Ordinal);
        Assert.False(File.Exists(Path.Combine(folder.Path, "authority.key")));
    }

    [Theory]
    [InlineData("--lan=http", "http://127.0.0.1:6000", "http://127.0.0.1:6000;http://*:5080")]
    [InlineData("--lan=http", "http://127.0.0.1:5080", "http://*:5080")]
    [InlineData("--lan", "http://127.0.0.1:5080", "http://127.0.0.1:5080;https://*:5443")]
    public void It_listens_where_it_would_without_too(string lan, string without, string urls) =>
        Assert.Equal(urls, new HomeNetwork(LanAsked.Read(lan), null, TimeProvider.System).Urls(without));

    [Fact]
    public void A_certificate_names_this_machine_and_its_addresses_and_the_authority_vouches_for_homes_only()
    {
        using var folder = new TemporaryDataFolder();
        var now = DateTimeOffset.UtcNow;
        using var authority = HomeAuthority.TakeOrMake(folder.Path, "harbour", now);

        using var home = authority.Issue(["localhost", "harbour", "harbour.local"],
            [IPAddress.Parse("192.168.1.5"), IPAddress.Parse("fd00::5")], now);
        using var bank = authority.Issue(["bank.example"], [], now);
        using var elsewhere = authority.Issue([], [IPAddress.Parse("203.0.113.5")], now);

        var reached = home.Extensions.OfType<X509SubjectAlternativeNameExtension>().Single();
        Assert.Equal(["localhost", "harbour", "harbour.local"], reached.EnumerateDnsNames());
        Assert.Equal(["192.168.1.5", "fd00::5"], reached.EnumerateIPAddresses().Select(a => a.ToString()));
        Assert.True(Fits(home, authority.Certificate));
        Assert.False(Fits(bank, authority.Certificate));
        Assert.False(Fits(elsewhere, authority.Certificate));
    }

    [Fact]
    public void It_is_kept_and_made_anew_long_before_it_ends()
    {
        using var folder = new TemporaryDataFolder();
        var now = DateTimeOffset.UtcNow;
        using var made = HomeAuthority.TakeOrMake(folder.Path, "harbour", now);

        using var kept = HomeAuthority.TakeOrMake(folder.Path, "harbour", now.AddYears(8));
        using var renewed = HomeAuthority.TakeOrMake(folder.Path, "harbour", now.AddYears(9));

        Assert.Equal((true, false, true), (made.IsNew, kept.IsNew, renewed.IsNew));
        Assert.Equal(made.Fingerprint, kept.Fingerprint);
        Assert.NotEqual(made.Fingerprint, renewed.Fingerprint);
    }

    [Fact]
    public void While_it_runs_its_certificate_is_made_anew_before_it_ends()
    {
        using var folder = new TemporaryDataFolder();
        var clock = new FakeTimeProvider(DateTimeOffset.UtcNow);
        using var authority = HomeAuthority.TakeOrMake(folder.Path, "harbour", clock.GetUtcNow());
        var network = new HomeNetwork(LanAsked.Read("--lan"), authority, clock);
        var first = network.Certificate();

        clock.Advance(TimeSpan.FromDays(59));
        var kept = network.Certificate();
        clock.Advance(TimeSpan.FromDays(2));
        var renewed = network.Certificate();

        Assert.Same(first, kept);
        Assert.NotEqual(first.SerialNumber, renewed.SerialNumber);
        Assert.True(renewed.NotAfter.ToUniversalTime() > clock.GetUtcNow().UtcDateTime.AddDays(80));
        Assert.Equal(authority.Certificate.Subject, renewed.Issuer);
    }

    [ThoroughFact]
    public async Task With_a_certificate_that_is_given_it_is_served_and_no_authority_is_made()
    {
        using var folder = new TemporaryDataFolder();
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=localhost", key, HashAlgorithmName.SHA256);
        var now = DateTimeOffset.UtcNow;
        using var given = request.CreateSelfSigned(now.AddHours(-1), now.AddDays(2));
        Directory.CreateDirectory(folder.Path);
        var (certificate, kept) = (Path.Combine(folder.Path, "given.pem"), Path.Combine(folder.Path, "given.key"));
        await File.WriteAllTextAsync(certificate, given.ExportCertificatePem(), Stop);
        await File.WriteAllTextAsync(kept, key.ExportPkcs8PrivateKeyPem(), Stop);

        await using var program = await CashEventsProcess.ServeAsync(folder.Path, null, "--lan=0",
            "--Kestrel:Certificates:Default:Path", certificate, "--Kestrel:Certificates:Default:KeyPath", kept);

        string? shown = null;
        using var client = new HttpClient(new HttpClientHandler
        {
            ServerCertificateCustomValidationCallback = (_, served, _, _) =>
                (shown = served!.Thumbprint) is not null,
        });
        using var answer = await client.GetAsync(new Uri(Https(program, "localhost") + "/health/live"), Stop);
        Assert.True(answer.IsSuccessStatusCode);
        Assert.Equal(given.Thumbprint, shown);
        Assert.False(File.Exists(Path.Combine(folder.Path, "authority.key")));
    }

    private static bool Fits(X509Certificate2 certificate, X509Certificate2 authority)
    {
        using var chain = new X509Chain();
        chain.ChainPolicy.RevocationMode = X509RevocationMode.NoCheck;
        chain.ChainPolicy.TrustMode = X509ChainTrustMode.CustomRootTrust;
        chain.ChainPolicy.CustomTrustStore.Add(authority);
        return chain.Build(certificate);
    }

    // Trusts the authority of a data folder and nothing else, and holds names against addresses as a browser does.
    private static HttpClient ClientOf(string folder) => new(new HttpClientHandler
    {
        ServerCertificateCustomValidationCallback = (_, certificate, _, errors) =>
        {
            using var authority = X509CertificateLoader.LoadCertificateFromFile(Path.Combine(folder, "authority.pem"));
            return !errors.HasFlag(SslPolicyErrors.RemoteCertificateNameMismatch) && Fits(certificate!, authority);
        },
    });

    private static async Task<string> AskAsync(CashEventsProcess program, string folder, string host, string path)
    {
        using var client = ClientOf(folder);
        using var answer = await client.GetAsync(new Uri(Https(program, host) + path), Stop);
        return path == "/trust" ? await answer.Content.ReadAsStringAsync(Stop) : answer.StatusCode.ToString();
    }

    private static string Https(CashEventsProcess program, string host) => program.Output.Split('\n')
        .Single(line => line.StartsWith("CashEvents listens on ", StringComparison.Ordinal)).Split([' ', ','])
        .Single(address => address.StartsWith("https:", StringComparison.Ordinal)) is var address
        ? $"https://{host}:{address.Split(':')[^1].Trim()}" : "";
}
