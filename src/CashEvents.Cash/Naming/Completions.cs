using System.CommandLine;
using System.CommandLine.Completions;

namespace CashEvents.Cash.Naming;

/// <summary>
/// Offers what can stand in a place while it is typed: from the server if it answers within a second, or else from what
/// was last heard. It says nothing where it knows nothing.
/// </summary>
internal sealed class Completions(Surroundings around)
{
    private static readonly TimeSpan _patience = TimeSpan.FromSeconds(1);

    /// <summary>A compartment.</summary>
    public Argument<string> Compartment(string name, string description) =>
        Of(new Argument<string>(name) { Description = description }, known => known.Compartments);

    /// <summary>Several compartments.</summary>
    public Argument<string[]> Compartments(string name, string description) =>
        Of(new Argument<string[]>(name) { Description = description }, known => known.Compartments);

    /// <summary>A compartment or a wallet.</summary>
    public Argument<string> CompartmentOrWallet(string name, string description) =>
        Of(new Argument<string>(name) { Description = description }, known => known.Compartments.Concat(known.Wallets));

    /// <summary>A compartment, as an option.</summary>
    public Option<string?> CompartmentOption(string name, string description) =>
        Of(new Option<string?>(name) { Description = description, HelpName = "compartment" },
            known => known.Compartments);

    /// <summary>A wallet, as an option.</summary>
    public Option<string?> WalletOption(string name, string description) =>
        Of(new Option<string?>(name) { Description = description, HelpName = "wallet" }, known => known.Wallets);

    private Argument<T> Of<T>(Argument<T> argument, Func<KnownHousehold, IEnumerable<KnownName>> names)
    {
        argument.HelpName = argument.Name;
        argument.CompletionSources.Add(_ => Offer(names));
        return argument;
    }

    private Option<T> Of<T>(Option<T> option, Func<KnownHousehold, IEnumerable<KnownName>> names)
    {
        option.CompletionSources.Add(_ => Offer(names));
        return option;
    }

    private IEnumerable<CompletionItem> Offer(Func<KnownHousehold, IEnumerable<KnownName>> names) =>
        Ask() is { } known ? names(known).Select(name => new CompletionItem(name.Id, detail: name.Label)) : [];

    private KnownHousehold? Ask()
    {
        try
        {
            var connection = Connection.Of(around);
            try
            {
                using var stop = new CancellationTokenSource(_patience);
                using var client = new CashEventsClient(connection.Address, connection.Key,
                    new CashEventsClientOptions { Retries = 0, ConnectWithin = _patience, Inner = around.Network() });
                return Task.Run(() => KnownHousehold.AskAsync(around, connection, client, stop.Token)).GetAwaiter()
                    .GetResult();
            }
            catch (Exception silent) when (silent is HttpRequestException or OperationCanceledException
                or CashEventsProblemException)
            {
                return KnownHousehold.Remembered(around, connection);
            }
        }
        catch (NotDoneException)
        {
            return null;
        }
    }
}
