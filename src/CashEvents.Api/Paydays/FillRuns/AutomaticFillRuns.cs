using System.Collections.Concurrent;
using Npgsql;

namespace CashEvents.Api.Paydays;

/// <summary>
/// Fills paydays where a household has the program fill by itself: looks every minute, and at the start for what was
/// missed, in order. What was done is known from the book alone,
/// so that nothing is done twice by a second server or after a restart.
/// </summary>
internal sealed class AutomaticFillRuns(
    BookReader books, FillRunReader marks, BookWriter writer, KeyRing keys, SecondWitness witness, ClockTrust trust,
    Upgrading upgrading, TimeProvider clock, OutageLog outages, ILogger<AutomaticFillRuns> logger) : BackgroundService
{
    private static readonly TimeSpan _every = TimeSpan.FromMinutes(1);

    // Looking so far ahead is enough for the next look to be in time.
    private const int DaysAhead = 2;

    // Who is away for longer looks at a calendar first.
    private static readonly TimeSpan LongestSilence = TimeSpan.FromDays(92);

    private readonly ConcurrentDictionary<string, NothingDue> _nothingDue = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, IReadOnlyList<HeldRun>> _held = new(StringComparer.Ordinal);

    /// <summary>Fills what is due now; a book that can't be written keeps no other from being.</summary>
    public Task RunDueAsync(CancellationToken cancellation) => TryAsync(async () =>
    {
        var look = await witness.LookAsync(cancellation).ConfigureAwait(false);
        var households = await keys.HouseholdsAsync(cancellation).ConfigureAwait(false);
        foreach (var household in households.Where(h => !upgrading.LeftOut.Contains(h)))
        {
            await TryAsync(() => RunDueAsync(household, look, cancellation), cancellation).ConfigureAwait(false);
        }
    }, cancellation);

    /// <summary>
    /// The paydays of a household that are due by the clock, and are not filled since the clock alone says so.
    /// </summary>
    public IReadOnlyList<HeldRun> Held(string household) => _held.GetValueOrDefault(household, []);

    /// <summary>
    /// The paydays that are still to be filled by the program, up to a day, each with the instant at which it is due;
    /// in order.
    /// </summary>
    public static IEnumerable<(DateOnly Payday, DateTimeOffset At)> ToCome(Book book,
        IReadOnlyDictionary<DateOnly, PaydayMark> marked, DateOnly upTo)
    {
        if (book.AutomaticFills is not { } fills || book.Household is not { } household || fills.From > upTo)
        {
            return [];
        }

        var last = upTo < BankDate.LastTold ? upTo : BankDate.LastTold;
        return Payday.Between(fills.From, last, book, HouseholdCalendar.Of(household.Country))
            .Select(payday => payday.Date.Day).Distinct().Where(day => !marked.ContainsKey(day))
            .Select(day => (day, household.InstantOf(fills.DayOf(day), fills.At)));
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(_every, clock);
        try
        {
            do
            {
                await RunDueAsync(stoppingToken).ConfigureAwait(false);
            }
            while (await timer.WaitForNextTickAsync(stoppingToken).ConfigureAwait(false));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The program stops, or could not start.
        }
    }

    private async Task TryAsync(Func<Task> look, CancellationToken cancellation)
    {
        try
        {
            await look().ConfigureAwait(false);
        }
        catch (BookUnavailableException)
        {
            // The writer has told why.
        }
        catch (Exception gone) when (gone is ObjectDisposedException
            || (gone is OperationCanceledException && !cancellation.IsCancellationRequested))
        {
            // A program that could not start is taken down while this looks: what it asks is not there any more.
        }
        catch (Exception failure) when (failure is NpgsqlException or TimeoutException)
        {
            outages.Tell(failure);
        }
#pragma warning disable CA1031 // Whatever went wrong, the next look is a minute away.
        catch (Exception failure) when (!cancellation.IsCancellationRequested)
#pragma warning restore CA1031
        {
            logger.LogError(failure, "Automatic fill runs could not be looked after; in a minute they are again.");
        }
    }

    private async Task RunDueAsync(string household, Look look, CancellationToken cancellation)
    {
        if (await books.ReadPageAsync(household, cancellation)
            .ConfigureAwait(false) is not { Book: { AutomaticFills: not null, Household: { } owner } book } page)
        {
            _held.TryRemove(household, out _);
            return;
        }

        if (_nothingDue.GetValueOrDefault(household)?.Holds(page, look.Now) is true)
        {
            return;
        }

        var marked = await marks.ReadAsync(household, cancellation).ConfigureAwait(false);
        var toCome = ToCome(book, marked, owner.DateAt(look.Now).AddDays(DaysAhead)).ToList();
        var held = new List<HeldRun>();
        foreach (var (payday, at) in toCome.Where(run => run.At <= look.Now))
        {
            if (await WhyHeldAsync(household, at, look, cancellation).ConfigureAwait(false) is { } reason)
            {
                held.Add(new HeldRun(payday, reason));
                continue;
            }

            var command = new FillPaydayAutomatically(payday, HouseholdCalendar.Of);
            await writer.WriteAsync(new WriteRequest(household, AutomaticFills.Writer, [new EntryRequest(command)]))
                .ConfigureAwait(false);
        }

        Hold(household, held);
        var next = toCome.Where(run => run.At > look.Now).Select(run => run.At).Append(look.Now.AddDays(1)).Min();
        _nothingDue[household] = new NothingDue(page.Book.Line, page.Hash, look.Now, held.Count == 0 ? next : look.Now);
    }

    // What came due before this program looked at the clock for the first time only the book can vouch for.
    private async Task<string?> WhyHeldAsync(string household, DateTimeOffset at, Look look,
        CancellationToken cancellation)
    {
        const string byHand = "fill the payday with POST /api/fill-runs";
        if (at > look.Believed)
        {
            return $"This machine's clock went ahead by more than a day, and nothing else says that it is so late: set "
                + $"it right. If it is right, start the program again, or {byHand}.";
        }

        return !trust.Always && at < look.Since
            && await marks.SilenceAsync(household, at, look.Now, cancellation).ConfigureAwait(false) > LongestSilence
            ? $"Nothing was written in the book for more than {LongestSilence.Days} days around this payday, so the "
                + $"clock may be ahead: set it right. If it is right, start the program once with "
                + $"CASHEVENTS_TRUST_CLOCK=true, or {byHand}."
            : null;
    }

    private void Hold(string household, List<HeldRun> held)
    {
        var before = Held(household);
        _held[household] = held;
        if (held.Count > 0 && !held.Select(h => h.Payday).SequenceEqual(before.Select(h => h.Payday)))
        {
            logger.LogWarning("{Number} automatic fill runs of {Household} are held. {Reason}", held.Count, household,
                held[0].Reason);
        }
    }

    /// <summary>
    /// Until when nothing is due while a book stands at a line, seen at an instant. A clock that is set back before
    /// that knows nothing of it.
    /// </summary>
    private sealed record NothingDue(long Line, string? Hash, DateTimeOffset Seen, DateTimeOffset Until)
    {
        public bool Holds(BookPage page, DateTimeOffset now) =>
            Line == page.Book.Line && Hash == page.Hash && now >= Seen && now < Until;
    }
}

/// <summary>A payday that the program does not fill, since only the clock says that it has come.</summary>
/// <param name="Payday">Its bank day.</param>
/// <param name="Reason">Why, and the mend.</param>
internal sealed record HeldRun(DateOnly Payday, string Reason);
