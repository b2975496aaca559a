using System.Net;
using System.Net.Sockets;

namespace CashEvents.Api.Notices;

/// <summary>
/// Which addresses a webhook is sent to. Those on the home network are what webhooks are for; those that are only good
/// on one wire are not, since machines of hosting companies tell secrets there.
/// </summary>
internal static class HomeAddresses
{
    // The address at which one such company tells the same over version 6.
    private static readonly IPAddress _metadata = IPAddress.Parse("fd00:ec2::254");

    // Addresses of version 4 stand in the last four bytes of these (RFC 6052, 2.1; RFC 4291, 2.5.5.1).
    private static readonly byte[][] _around = [[0, 0x64, 0xff, 0x9b, 0, 0, 0, 0, 0, 0, 0, 0], new byte[12]];

    /// <summary>Whether something is sent there.</summary>
    public static bool Has(IPAddress address)
    {
        var bare = Bare(address);
        return bare.AddressFamily switch
        {
            // 169.254.0.0/16 (RFC 3927), "this host" (RFC 1122), multicast and what is above it (RFC 5771).
            AddressFamily.InterNetwork => bare.GetAddressBytes() is [not 0 and < 224, ..] and not [169, 254, ..],
            // fe80::/10 (RFC 4291).
            _ => !bare.IsIPv6LinkLocal && !bare.IsIPv6Multicast && !bare.Equals(IPAddress.IPv6Any)
                && !bare.Equals(_metadata),
        };
    }

    /// <summary>Connects to a host at an address that something is sent to; what its name leads to is looked at here,
    /// after it was looked up.</summary>
    /// <exception cref="ForbiddenAddressException">It leads nowhere else.</exception>
    public static async ValueTask<Stream> ConnectAsync(SocketsHttpConnectionContext context,
        CancellationToken cancellation)
    {
        var (host, port) = (context.DnsEndPoint.Host, context.DnsEndPoint.Port);
        var addresses = IPAddress.TryParse(host, out var written) ? [written]
            : await Dns.GetHostAddressesAsync(host, cancellation).ConfigureAwait(false);
        var allowed = addresses.Where(Has).ToArray();
        if (allowed.Length == 0)
        {
            throw new ForbiddenAddressException(host);
        }

        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        try
        {
            await socket.ConnectAsync(allowed, port, cancellation).ConfigureAwait(false);
            return new NetworkStream(socket, ownsSocket: true);
        }
        catch
        {
            socket.Dispose();
            throw;
        }
    }

    private static IPAddress Bare(IPAddress address)
    {
        if (address.IsIPv4MappedToIPv6)
        {
            return address.MapToIPv4();
        }

        var bytes = address.GetAddressBytes();
        return address.AddressFamily == AddressFamily.InterNetworkV6 && !address.Equals(IPAddress.IPv6Loopback)
            && !address.Equals(IPAddress.IPv6Any)
            && Array.Exists(_around, around => bytes.AsSpan(0, 12).SequenceEqual(around))
                ? new IPAddress(bytes.AsSpan(12))
                : address;
    }
}

/// <summary>A name leads to an address that nothing is sent to.</summary>
internal sealed class ForbiddenAddressException(string host)
    : IOException($"{host} leads to an address that is only good on one wire, and nothing is sent there.");
