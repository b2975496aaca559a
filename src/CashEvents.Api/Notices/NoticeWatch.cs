using System.Collections.Immutable;
using System.Diagnostics;
using Npgsql;

namespace CashEvents.Api.Notices;

/// <summary>
/// Looks at a book when lines were written in it, and when the household's day changes; never at one in which neither
/// happened.
/// </summary>
internal sealed class NoticeWatch(NoticeBook notices, NewLines newLines, BookReader books, WeekReader weeks,
    LineReader lines, VerificationReader verification, Alarms alarms, Upgrading upgrading, TimeProvider clock,
    OutageLog outages, ILogger<NoticeWatch> logger) : BackgroundService
{
    private static readonly TimeSpan _dayLooksEvery = TimeSpan.FromMinutes(1);

    // So that writers find a processor free: for each moment of looking so many of rest.
    private const int Rest = 9;
    private static readonly TimeSpan _shortestRest = TimeSpan.FromMilliseconds(20);

    private readonly BooksToLookAt _books = new((all, cancellation) => all
        ? notices.AllDueAsync(clock.GetUtcNow(), cancellation)
        : notices.DueAsync(clock.GetUtcNow(), cancellation));

    /// <summary>Looks at one book now.</summary>
    /// <returns>Whether there was something new to look at.</returns>
    public async Task<bool> LookAsync(string household, CancellationToken cancellation)
    {
        // A book that is not set up yet has nothing to tell.
        var book = await books.ReadWholeAsync(household, cancellation).ConfigureAwait(false);
        if (book.Household is not { Currency: not null })
        {
            return false;
        }

        var now = clock.GetUtcNow();
        var today = book.Household.DateAt(now);
        if (await notices.LastDayAsync(household, cancellation).ConfigureAwait(false) != today)
        {
            // A row that somebody changed leaves the book's line number as it was: once a day all are walked.
            await BrokenChain.TellAsync(alarms, household,
                await verification.ReadAsync(household, cancellation).ConfigureAwait(false), cancellation)
                .ConfigureAwait(false);
        }

        return await notices.LookAsync(household, book, now,
            look => NoticedAsync(household, book, today, look, cancellation), cancellation).ConfigureAwait(false);
    }

    /// <inheritdoc />
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        newLines.Written += _books.Note;
        try
        {
            await using var days = clock.CreateTimer(_ => _books.NoteDue(), null, _dayLooksEvery, _dayLooksEvery);
            while (true)
            {
                await _books.WaitAsync(stoppingToken).ConfigureAwait(false);
                await TryAsync(() => _books.FindAsync(stoppingToken), stoppingToken).ConfigureAwait(false);
                foreach (var household in _books.Take().Where(h => !upgrading.LeftOut.Contains(h)))
                {
                    var begun = Stopwatch.GetTimestamp();
                    await TryAsync(() => LookAsync(household, stoppingToken), stoppingToken).ConfigureAwait(false);
                    var rest = Stopwatch.GetElapsedTime(begun) * Rest;
                    await Task.Delay(rest > _shortestRest ? rest : _shortestRest, stoppingToken).ConfigureAwait(false);
                }
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The program stops, or could not start.
        }
        finally
        {
            newLines.Written -= _books.Note;
        }
    }

    private async Task TryAsync(Func<Task> look, CancellationToken cancellation)
    {
        try
        {
            await look().ConfigureAwait(false);
        }
        catch (Exception gone) when (gone is ObjectDisposedException or BookMisfitException
            || (gone is OperationCanceledException && !cancellation.IsCancellationRequested))
        {
            // A program that could not start is taken down; a book that does not fit is told of when it is written.
        }
        catch (Exception failure) when (failure is NpgsqlException or TimeoutException)
        {
            outages.Tell(failure);
        }
#pragma warning disable CA1031 // Whatever went wrong with one book, the others are looked at.
        catch (Exception failure) when (!cancellation.IsCancellationRequested)
#pragma warning restore CA1031
        {
            logger.LogError(failure, "What is to be told of a book could not be worked out; with its next line or day "
                + "it is again.");
        }
    }

    private async Task<IReadOnlyList<Noticed>> NoticedAsync(string household, Book book, DateOnly today,
        NoticeLook look, CancellationToken cancellation)
    {
        var week = (await weeks.ReadAsync(household,
            (owner, _) => [WeekSlice.Whole(Week.Of(today, owner.FirstDayOfWeek))], AsOf.Now,
            cancellation).ConfigureAwait(false)).Sheets[0];
        return [.. Noticing.Of(new NoticeView(book, today, week, look.Settings, look.Alarms)
        {
            FilledByProgram = await FilledAsync(household, book, today, cancellation).ConfigureAwait(false),
            NeverCountedSince = await NeverCountedAsync(household, book, cancellation).ConfigureAwait(false),
            ToAsk = run => ToAsk(run, book),
        })];
    }

    private async Task<IReadOnlyList<FillRun>> FilledAsync(string household, Book book, DateOnly today,
        CancellationToken cancellation)
    {
        var marks = book.FillRuns.Where(mark => mark.Value.State == PaydayState.Filled
            && mark.Key > today.AddDays(-AutomaticFills.MostDaysAfter - 2)).Select(mark => mark.Value.Line);
        return
        [
            .. from line in await lines.ReadAsync(household, marks, cancellation).ConfigureAwait(false)
               where line.By == AutomaticFills.Writer
                   && today.DayNumber - book.Household!.DateAt(line.RecordedAt).DayNumber is 0 or 1
               select ((PaydayFilled)line.Event).Run,
        ];
    }

    private async Task<IReadOnlyDictionary<string, DateOnly>> NeverCountedAsync(string household, Book book,
        CancellationToken cancellation)
    {
        var never = book.Compartments.Values.Where(c => !c.Closed && c.Cash > Money.Zero
            && book.CashCount(c.Id) is null).ToDictionary(c => c.Line, c => c.Id);
        return (await lines.ReadAsync(household, never.Keys, cancellation).ConfigureAwait(false))
            .ToDictionary(line => never[line.Number], line => book.Household!.DateAt(line.RecordedAt));
    }

    private static ImmutableArray<Pieces> ToAsk(FillRun run, Book book)
    {
        try
        {
            return PackingSolver.Pack(PackingTask.Read(book, run.CashToDraw(book), new Dictionary<string, long>(),
                book.Household!.ToDraw)).Asked;
        }
        catch (RefusalException)
        {
            return [];
        }
    }
}

/// <summary>A chain that does not verify, as the household is told of it.</summary>
internal static class BrokenChain
{
    /// <summary>What is to be told of a finding; null where all agrees.</summary>
    public static Alarm? Of(ChainFinding finding) => finding switch
    {
        { Misfit: { } misfit } => new Alarm(NoticeKind.ChainBroken, "",
            FormattableString.Invariant($"Line {misfit.Line} does not agree. {misfit.Reason}")),
        { Agrees: false } => new Alarm(NoticeKind.ChainBroken, "",
            "The lines agree, but balances kept beside them are not what they give. A rebuild puts that right."),
        _ => null,
    };

    /// <summary>Tells of a finding.</summary>
    public static Task TellAsync(Alarms alarms, string household, ChainFinding finding,
        CancellationToken cancellation) => Of(finding) is { } broken
            ? alarms.RaiseAsync(household, broken, cancellation)
            : alarms.EndAsync(household, NoticeKind.ChainBroken, cancellation: cancellation);
}
