using System.Collections.Concurrent;
using CashEvents.Api.Calendars;
using CashEvents.Domain.Books;
using CashEvents.Domain.Calendars;
using CashEvents.Domain.FillRuns;
using CashEvents.Domain.Paydays;
using CashEvents.Store.Books;
using CashEvents.Store.FillRuns;
using CashEvents.Store.Keys;
using CashEvents.Store.Writing;

namespace CashEvents.Api.FillRuns;

/// <summary>
/// Fills paydays where a household has the program fill by itself: looks every minute, and at the start for what was missed, in order. What was done is known from the book alone,
/// so that nothing is done twice by a second server or after a restart.
/// </summary>
internal sealed class AutomaticFillRuns(BookReader books, FillRunReader marks, BookWriter writer, KeyRing keys, TimeProvider clock, ILogger<AutomaticFillRuns> logger) : BackgroundService
{
    private static readonly TimeSpan _every = TimeSpan.FromMinutes(1);

    // Looking so far ahead is enough for the next look to be in time.
    private const int DaysAhead = 2;

    // By household, the line at which the book stood when it was looked at and the instant before which nothing is due while it stands there.
    private readonly ConcurrentDictionary<string, (long Line, DateTimeOffset Until)> _nothingDue = new(StringComparer.Ordinal);

    /// <summary>Fills what is due now; a book that can't be written keeps no other from being.</summary>
    public Task RunDueAsync(CancellationToken cancellation) => TryAsync(async () =>
    {
        foreach (var household in await keys.HouseholdsAsync(cancellation).ConfigureAwait(false))
        {
            await TryAsync(() => RunDueAsync(household, cancellation), cancellation).ConfigureAwait(false);
        }
    }, cancellation);

    /// <summary>The paydays that are still to be filled by the program, up to a day, each with the instant at which it is due; in order.</summary>
    public static IEnumerable<(DateOnly Payday, DateTimeOffset At)> ToCome(Book book, IReadOnlyDictionary<DateOnly, PaydayMark> marked, DateOnly upTo)
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
#pragma warning disable CA1031 // Whatever went wrong, the next look is a minute away.
        catch (Exception failure) when (!cancellation.IsCancellationRequested)
#pragma warning restore CA1031
        {
            logger.LogError(failure, "Automatic fill runs could not be looked after; in a minute they are again.");
        }
    }

    private async Task RunDueAsync(string household, CancellationToken cancellation)
    {
        var now = clock.GetUtcNow();
        var book = await books.ReadAsync(household, cancellation).ConfigureAwait(false);
        if (book.AutomaticFills is null || (_nothingDue.TryGetValue(household, out var known) && known.Line == book.Line && now < known.Until))
        {
            return;
        }

        var marked = await marks.ReadAsync(household, cancellation).ConfigureAwait(false);
        var today = book.Household!.DateAt(now);
        var toCome = ToCome(book, marked, today.AddDays(DaysAhead)).ToList();
        foreach (var (payday, _) in toCome.Where(run => run.At <= now))
        {
            var command = new FillPaydayAutomatically(payday, HouseholdCalendar.Of);
            await writer.WriteAsync(new WriteRequest(household, AutomaticFills.Writer, [new EntryRequest(command)])).ConfigureAwait(false);
        }

        var next = toCome.Where(run => run.At > now).Select(run => run.At).Append(now.AddDays(1)).Min();
        _nothingDue[household] = (book.Line, next);
    }
}
