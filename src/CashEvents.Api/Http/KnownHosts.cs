using System.Net;
using System.Net.NetworkInformation;

namespace CashEvents.Api.Http;

/// <summary>
/// Refuses requests for a host that is not this server. A page from elsewhere whose name is made to lead to this
/// machine (DNS rebinding) sends that name
/// as <c>Host</c>. This server goes by loopback names and addresses, by the machine's own addresses and names, by the
/// names it
/// listens on, and by those of the setting.
/// </summary>
/// <param name="next">What comes after.</param>
/// <param name="configuration">Has the setting, and where it listens.</param>
internal sealed class KnownHosts(RequestDelegate next, IConfiguration configuration)
{
    /// <summary>
    /// Names by which the server is reached too, with commas between; <c>*.example</c> stands for all names below one,
    /// <c>*</c> for every name.
    /// </summary>
    public const string Setting = "CASHEVENTS_HOSTS";

    private readonly string[] _given =
        (configuration[Setting] ?? "")
            .Split([',', ';', ' '], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
    private readonly string[] _own = ["localhost", "*.localhost", .. Machine(), .. ListensOn(configuration)];

    public async Task InvokeAsync(HttpContext context)
    {
        var host = context.Request.Host.Host.TrimEnd('.');
        if (IsKnown(host, context.Connection.LocalIpAddress))
        {
            await next(context).ConfigureAwait(false);
            return;
        }

        var mend = $"This server does not go by the name '{host}'. If it is right, start the program with "
            + $"{Setting}={host}; names are separated by commas.";
        await Problems.Of(StatusCodes.Status421MisdirectedRequest, "host-unknown", mend,
            new Dictionary<string, string[]> { ["Host"] = [mend] }).ExecuteAsync(context).ConfigureAwait(false);
    }

    private bool IsKnown(string host, IPAddress? reachedAt)
    {
        // HTTP/1.0 may leave it out; no browser does.
        if (host.Length == 0 || _given.Any(given => Matches(host, given)))
        {
            return true;
        }

        if (IPAddress.TryParse(host, out var address))
        {
            address = Plain(address);
            return IPAddress.IsLoopback(address) || (reachedAt is not null && address.Equals(Plain(reachedAt)))
                || Addresses().Contains(address);
        }

        return _own.Any(own => Matches(host, own));
    }

    // Every name may lead to an address that listens to all: that is no name of its own.
    private static IEnumerable<string> ListensOn(IConfiguration configuration) =>
        (configuration[WebHostDefaults.ServerUrlsKey] ?? "")
        .Split(';', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
        .Select(address => BindingAddress.Parse(address).Host)
        .Where(host => !host.Contains('*', StringComparison.Ordinal));

    private static bool Matches(string host, string known) => known == "*"
        || host.Equals(known.TrimEnd('.'), StringComparison.OrdinalIgnoreCase)
        || (known.StartsWith("*.", StringComparison.Ordinal) && host.Length >= known.Length
            && host.EndsWith(known[1..], StringComparison.OrdinalIgnoreCase));

    // Its name, in its network's domain, and as mDNS (RFC 6762) tells it to the neighbours.
    private static IEnumerable<string> Machine()
    {
        var name = Environment.MachineName;
        yield return name;
        yield return Dns.GetHostName();
        yield return name + ".local";
        if (IPGlobalProperties.GetIPGlobalProperties().DomainName is { Length: > 0 } domain)
        {
            yield return $"{name}.{domain}";
        }
    }

    // Asked anew each time: a machine that moves to another network gets others.
    private static IEnumerable<IPAddress> Addresses() => NetworkInterface.GetAllNetworkInterfaces()
        .SelectMany(network => network.GetIPProperties().UnicastAddresses).Select(unicast => Plain(unicast.Address));

    private static IPAddress Plain(IPAddress address) => address.IsIPv4MappedToIPv6 ? address.MapToIPv4()
        : address.AddressFamily == System.Net.Sockets.AddressFamily.InterNetworkV6
            ? new IPAddress(address.GetAddressBytes())
        : address;
}
