using System.Net;
using System.Net.NetworkInformation;
using System.Net.Sockets;
using System.Security.Cryptography.X509Certificates;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;

namespace CashEvents.Api.Hosting;

/// <summary>How the program was asked to listen on the home network.</summary>
/// <param name="Plain">Over http, where everybody on the network can read along.</param>
/// <param name="Port">The port.</param>
internal sealed record LanAsked(bool Plain, int Port)
{
    /// <summary>The port of https where none is named.</summary>
    public const int UsualPort = 5443;

    private const int UsualPlainPort = 5080;

    /// <summary>Reads <c>--lan</c>, <c>--lan=PORT</c>, <c>--lan=http</c> or <c>--lan=http:PORT</c>.</summary>
    /// <exception cref="StartException">It is none of them.</exception>
    public static LanAsked Read(string written) => written.Split('=', 2) switch
    {
        ["--lan"] => new(false, UsualPort),
        [_, "http"] => new(true, UsualPlainPort),
        [_, var port] when ushort.TryParse(port, out var number) => new(false, number),
        [_, var plain] when plain.StartsWith("http:", StringComparison.Ordinal)
            && ushort.TryParse(plain["http:".Length..], out var number) => new(true, number),
        _ => throw new StartException($"'{written}' is not known: write --lan, --lan=5443 for another port, or "
            + "--lan=http for plain http."),
    };
}

/// <summary>
/// The home network that the server listens on: under which names and addresses it is reached there, and with which
/// certificate.
/// </summary>
/// <param name="asked">How it was asked to listen.</param>
/// <param name="authority">The program's own authority; null where a certificate was given, or over plain http.</param>
/// <param name="clock">Tells when a certificate is to be renewed.</param>
internal sealed class HomeNetwork(LanAsked asked, HomeAuthority? authority, TimeProvider clock)
{
    private static readonly TimeSpan _renewedBefore = TimeSpan.FromDays(30);

    private readonly Lock _one = new();
    private X509Certificate2? _certificate;
    private HashSet<IPAddress> _reachedAt = [];

    /// <summary>The authority that phones are to trust; null where they need not.</summary>
    public HomeAuthority? Authority => authority;

    /// <summary>Whether anybody on the network can read along.</summary>
    public bool IsPlain => asked.Plain;

    /// <summary>The names of this machine on its network.</summary>
    public static IEnumerable<string> Names => new[] { "localhost", Environment.MachineName,
        Environment.MachineName + ".local" }.Select(name => name.ToLowerInvariant()).Distinct();

    /// <summary>Where the server is to listen, beside where it would without.</summary>
    public string Urls(string without)
    {
        var all = $"{(IsPlain ? "http" : "https")}://*:{asked.Port}";
        // One that listens everywhere takes the port from those that would listen on this machine alone.
        return string.Join(';', without.Split(';', StringSplitOptions.RemoveEmptyEntries)
            .Where(url => asked.Port == 0 || BindingAddress.Parse(url).Port != asked.Port).Append(all));
    }

    /// <summary>
    /// The server's certificate: made at the first connection, and made anew before it ends or when this machine has
    /// another address.
    /// </summary>
    public X509Certificate2 Certificate()
    {
        lock (_one)
        {
            var (now, addresses) = (clock.GetUtcNow(), Addresses().Where(HomeAuthority.MaySpeakFor).ToHashSet());
            if (_certificate is null || _certificate.NotAfter.ToUniversalTime() < now.UtcDateTime + _renewedBefore
                || !addresses.IsSubsetOf(_reachedAt))
            {
                _certificate = authority!.Issue(Names, addresses, now);
                _reachedAt = addresses;
            }

            return _certificate;
        }
    }

    /// <summary>The address for a phone on the network; null where this machine is on none.</summary>
    public string? Address(IServer server)
    {
        var scheme = IsPlain ? "http" : "https";
        // It was added behind all others.
        var bound = server.Features.Get<IServerAddressesFeature>()?.Addresses.Select(BindingAddress.Parse)
            .LastOrDefault(address => address.Scheme == scheme);
        var own = Addresses().Where(address => address.AddressFamily == AddressFamily.InterNetwork
            && !IPAddress.IsLoopback(address)).OrderByDescending(HomeAuthority.MaySpeakFor).FirstOrDefault();
        return bound is null || own is null ? null : $"{scheme}://{own}:{bound.Port}";
    }

    private static IEnumerable<IPAddress> Addresses() => NetworkInterface.GetAllNetworkInterfaces()
        .Where(network => network.OperationalStatus == OperationalStatus.Up
            || network.NetworkInterfaceType == NetworkInterfaceType.Loopback)
        .SelectMany(network => network.GetIPProperties().UnicastAddresses)
        .Select(unicast => new IPAddress(unicast.Address.GetAddressBytes())).Distinct();
}
