using System.Formats.Asn1;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace CashEvents.Api.Hosting;

/// <summary>
/// The program's own authority for certificates: made once, kept in the data folder, trusted by the household's phones.
/// It can speak for machines of a home network only (RFC 5280, section 4.2.1.10), so that whoever stole its key could
/// not stand in for a bank.
/// </summary>
internal sealed class HomeAuthority : IDisposable
{
    private const string KeptCertificate = "authority.pem";
    private const string KeptKey = "authority.key";
    private const int Years = 10;
    private const int ServerDays = 90;

    // Long before it ends, so that phones have time to trust the next.
    private static readonly TimeSpan _renewedBefore = TimeSpan.FromDays(400);

    // Private and link-local addresses: RFC 1918, 3927, 4193, 4291; and the loopback.
    private static readonly IPNetwork[] _home =
    [
        .. new[] { "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7",
            "fe80::/10", "::1/128" }.Select(IPNetwork.Parse),
    ];

    // Names that no public authority vouches for: RFC 6762, 6761, 8375; "lan" by common practice.
    private static readonly string[] _homeNames = ["localhost", "local", "home.arpa", "lan", "internal"];

    private readonly ECDsa _key;

    private HomeAuthority(X509Certificate2 certificate, ECDsa key, bool isNew) =>
        (Certificate, _key, IsNew) = (certificate, key, isNew);

    /// <summary>Its certificate, which phones trust.</summary>
    public X509Certificate2 Certificate { get; }

    /// <summary>Whether it was made, or made anew, just now.</summary>
    public bool IsNew { get; }

    /// <summary>SHA-256 of its certificate, in pairs, as phones show it.</summary>
    public string Fingerprint => string.Join(':',
        Certificate.GetCertHash(HashAlgorithmName.SHA256)
            .Select(part => part.ToString("X2", CultureInfo.InvariantCulture)));

    /// <summary>Takes the authority that is kept, or makes one; one that ends before long is made anew.</summary>
    public static HomeAuthority TakeOrMake(string folder, string machine, DateTimeOffset now)
    {
        var (certificate, key) = (Path.Combine(folder, KeptCertificate), Path.Combine(folder, KeptKey));
        if (File.Exists(certificate) && File.Exists(key))
        {
            try
            {
                var kept = X509Certificate2.CreateFromPemFile(certificate, key);
                if (kept.NotAfter.ToUniversalTime() > now.UtcDateTime + _renewedBefore)
                {
                    return new HomeAuthority(kept, kept.GetECDsaPrivateKey()!, isNew: false);
                }
            }
            catch (CryptographicException)
            {
                throw new StartException($"The authority's certificate in {certificate} can't be read. Put it back, or "
                    + "delete it with authority.key: another is made, and each phone has to trust that one.");
            }
        }

        Directory.CreateDirectory(folder);
        var made = Make(machine, now);
        Keep(key, made._key.ExportPkcs8PrivateKeyPem());
        Keep(certificate, made.Certificate.ExportCertificatePem());
        return made;
    }

    /// <summary>A certificate for a server that is reached under names and addresses, for some weeks.</summary>
    public X509Certificate2 Issue(IEnumerable<string> names, IEnumerable<IPAddress> addresses, DateTimeOffset now)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=CashEvents", key, HashAlgorithmName.SHA256);
        var reached = new SubjectAlternativeNameBuilder();
        foreach (var name in names)
        {
            reached.AddDnsName(name);
        }

        foreach (var address in addresses)
        {
            reached.AddIpAddress(address);
        }

        request.CertificateExtensions.Add(reached.Build());
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(false, false, 0, true));
        request.CertificateExtensions.Add(new X509KeyUsageExtension(X509KeyUsageFlags.DigitalSignature, true));
        // Web server authentication, RFC 5280, section 4.2.1.12.
        request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([new Oid("1.3.6.1.5.5.7.3.1")], false));
        request.CertificateExtensions.Add(X509AuthorityKeyIdentifierExtension.CreateFromCertificate(Certificate, true,
            false));
        using var signed = request.Create(Certificate.SubjectName, X509SignatureGenerator.CreateForECDsa(_key),
            now.AddHours(-1), now.AddDays(ServerDays), RandomNumberGenerator.GetBytes(16));
        using var whole = signed.CopyWithPrivateKey(key);
        // Some systems serve no key that lives in memory alone.
        return X509CertificateLoader.LoadPkcs12(whole.Export(X509ContentType.Pkcs12), null);
    }

    /// <summary>Whether it can speak for an address.</summary>
    public static bool MaySpeakFor(IPAddress address) => _home.Any(network => network.Contains(address));

    /// <inheritdoc />
    public void Dispose()
    {
        Certificate.Dispose();
        _key.Dispose();
    }

    private static HomeAuthority Make(string machine, DateTimeOffset now)
    {
        var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest(
            new X500DistinguishedName($"CN=\"CashEvents on {machine.Replace('"', '\'')}\""), key,
            HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(true, true, 0, true));
        request.CertificateExtensions.Add(
            new X509KeyUsageExtension(X509KeyUsageFlags.KeyCertSign | X509KeyUsageFlags.CrlSign, true));
        request.CertificateExtensions.Add(new X509SubjectKeyIdentifierExtension(request.PublicKey, false));
        request.CertificateExtensions.Add(OnlyHome([.. _homeNames, machine]));
        return new HomeAuthority(request.CreateSelfSigned(now.AddHours(-1), now.AddYears(Years)), key, isNew: true);
    }

    // NameConstraints ::= SEQUENCE { permittedSubtrees [0] SEQUENCE OF SEQUENCE { base GeneralName } }
    private static X509Extension OnlyHome(IEnumerable<string> names)
    {
        var written = new AsnWriter(AsnEncodingRules.DER);
        using (written.PushSequence())
        using (written.PushSequence(new Asn1Tag(TagClass.ContextSpecific, 0)))
        {
            foreach (var name in names)
            {
                using var subtree = written.PushSequence();
                written.WriteCharacterString(UniversalTagNumber.IA5String, name,
                    new Asn1Tag(TagClass.ContextSpecific, 2));
            }

            foreach (var network in _home)
            {
                using var subtree = written.PushSequence();
                written.WriteOctetString([.. network.BaseAddress.GetAddressBytes(), .. Mask(network)],
                    new Asn1Tag(TagClass.ContextSpecific, 7));
            }
        }

        return new X509Extension("2.5.29.30", written.Encode(), critical: true);
    }

    private static IEnumerable<byte> Mask(IPNetwork network) =>
        Enumerable.Range(0, network.BaseAddress.AddressFamily == AddressFamily.InterNetwork ? 4 : 16)
            .Select(at => (byte)(0xFF00 >> Math.Clamp(network.PrefixLength - (8 * at), 0, 8)));

    private static void Keep(string path, string pem)
    {
        // Beside it first: a start that is cut off leaves no half of it.
        var unfinished = path + ".new";
        File.Delete(unfinished);
        using (var file = new StreamWriter(PrivateFile.Open(unfinished, FileMode.CreateNew)))
        {
            file.Write(pem);
        }

        File.Move(unfinished, path, overwrite: true);
    }
}
