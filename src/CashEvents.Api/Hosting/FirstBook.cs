namespace CashEvents.Api.Hosting;

/// <summary>What was asked for at the start of a program that serves.</summary>
/// <param name="Demo">Load the demo household into an empty book.</param>
/// <param name="GivenKey">The keeper's key to use at the first start; null to make one.</param>
/// <param name="DataFolder">Where a key that is made is kept.</param>
internal sealed record FirstStart(bool Demo, string? GivenKey, string DataFolder);

/// <summary>
/// Opens the first book and loads the demo before the server listens: whoever gets an answer gets it from a book that
/// is there, with a key that is known. (Services of the program's own start before the web server does.)
/// </summary>
internal sealed class FirstBook(FirstStart asked, Upgrading upgrading, Opening opening, BookReader books,
    VerificationReader verification, DemoSeed demo) : IHostedService
{
    /// <summary>The keeper's key, when the book was opened now.</summary>
    public KeeperKey? NewKey { get; private set; }

    /// <summary>How many lines kept the demo from being loaded; null when it was loaded or not asked for.</summary>
    public long? LinesBeforeDemo { get; private set; }

    /// <exception cref="StartException">A book that is to be left out is not there.</exception>
    public async Task StartAsync(CancellationToken cancellationToken)
    {
        if (upgrading.LeftOut.Count > 0)
        {
            var households = await verification.HouseholdsAsync(cancellationToken).ConfigureAwait(false);
            if (upgrading.LeftOut.Except(households) is { Count: > 0 } unknown)
            {
                throw new StartException($"There is no book of '{unknown.First()}' to leave out. There are: "
                    + $"{string.Join(", ", households)}.");
            }
        }

        if (upgrading.LeftOut.Contains(Opening.FirstHousehold))
        {
            return;
        }

        var line = (await books.ReadAsync(Opening.FirstHousehold, cancellationToken).ConfigureAwait(false)).Line;
        if (line == 0)
        {
            var key = KeeperKey.TakeOrMake(asked.GivenKey, asked.DataFolder);
            if (await opening.OpenAsync(Opening.FirstHousehold, "Household", key.Plain).ConfigureAwait(false))
            {
                NewKey = key;
            }
        }

        if (asked.Demo && line > Opening.OpeningLines)
        {
            LinesBeforeDemo = line;
        }
        else if (asked.Demo)
        {
            await demo.LoadAsync(Opening.FirstHousehold, "keeper").ConfigureAwait(false);
        }
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}
