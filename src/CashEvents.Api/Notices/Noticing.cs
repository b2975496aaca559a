using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Api.Notices;

/// <summary>
/// What is known of a household when it is worked out what it is to be told. Nothing here reads or waits.
/// </summary>
/// <param name="Book">The whole book.</param>
/// <param name="Today">The household's date.</param>
/// <param name="Week">The sheet of the running week.</param>
/// <param name="Settings">Which notices it wants.</param>
/// <param name="Alarms">What other parts of the program found.</param>
internal sealed record NoticeView(Book Book, DateOnly Today, WeekSheet Week, NoticeSettings Settings,
    IReadOnlyList<Alarm> Alarms)
{
    /// <summary>The runs by which the program filled paydays lately, latest last.</summary>
    public IReadOnlyList<FillRun> FilledByProgram { get; init; } = [];

    /// <summary>The day on which a compartment was taken into use, of those that were never counted.</summary>
    public IReadOnlyDictionary<string, DateOnly> NeverCountedSince { get; init; } = new Dictionary<string, DateOnly>();

    /// <summary>The notes to ask the bank for on a payday; none where they can't be worked out.</summary>
    public Func<FillRun, ImmutableArray<Pieces>> ToAsk { get; init; } = _ => [];
}

/// <summary>Works out what a household is to be told, in its own words and without ids.</summary>
internal static class Noticing
{
    /// <summary>What holds now.</summary>
    public static IEnumerable<Noticed> Of(NoticeView view) =>
    [
        .. Low(view), .. EndsEarly(view), .. NotOnTrack(view), .. PaydayTomorrow(view), .. Paydays(view),
        .. Disagreeing(view), .. Overdue(view), .. CarriedLong(view), .. CanBeClosed(view), .. Alarmed(view),
    ];

    private static IEnumerable<Noticed> Low(NoticeView view) =>
        from compartment in InUse(view.Book)
        where view.Settings.Levels.ContainsKey(compartment.Id)
        let level = new Money(view.Settings.Levels[compartment.Id])
        let held = compartment.Cash + compartment.Bank
        where held < level
        select new Noticed(NoticeKind.CompartmentLow, $"low/{compartment.Id}",
            $"“{compartment.Label}” is low",
            $"It holds {view.Book.Say(held)}, less than the {view.Book.Say(level)} that you set.")
        { Compartment = compartment.Id };

    private static IEnumerable<Noticed> EndsEarly(NoticeView view)
    {
        if (view.Week.DaysGone is not { } gone)
        {
            yield break;
        }

        var last = view.Week.Slice.Last;
        foreach (var row in view.Week.Rows.Where(row => !row.Compartment.Closed && view.Today < last
            && row.Figures.Spent > Money.Zero))
        {
            var ends = row.Figures.Left <= Money.Zero ? view.Today : row.Figures.MoneyEnds(view.Today, gone);
            if (ends < last)
            {
                yield return new Noticed(NoticeKind.WeekEndsEarly,
                    $"week/{row.Compartment.Id}/{view.Week.Slice.First:O}",
                    $"The week's money of “{row.Compartment.Label}” will not last",
                    (row.Figures.Left <= Money.Zero ? "There is nothing left. "
                        : $"At this pace it ends on {Weekday(ends.Value)}. ") + $"The week runs until {Weekday(last)}.")
                { Compartment = row.Compartment.Id, On = ends };
            }
        }
    }

    // Of each fund the first bill that would be short: what is there goes to the bills in the order of their days.
    private static IEnumerable<Noticed> NotOnTrack(NoticeView view)
    {
        var paydays = FundPaydays.Of(view.Book, view.Today);
        foreach (var compartment in InUse(view.Book).Where(c => c.Purpose == Purpose.SinkingFund))
        {
            var fund = SinkingFund.Of(view.Book, compartment, paydays.Next);
            if (fund.Bills.Count == 0)
            {
                continue;
            }

            var since = fund.Bills.Min(b => b.Since);
            var all = paydays.Between(since < view.Today ? since : view.Today, fund.LastDue ?? view.Today);
            var there = fund.There;
            if (fund.Accrued(all, paydays.Next) <= there)
            {
                continue;
            }

            var (bill, behind) = Enumerable.Range(1, fund.Bills.Count)
                .Select(n => (Bill: fund.Bills[n - 1],
                    Behind: (fund with { Bills = [.. fund.Bills.Take(n)] }).Accrued(all, paydays.Next) - there))
                .First(n => n.Behind > Money.Zero);
            var label = view.Book.Goals[bill.Goal].Label;
            yield return new Noticed(NoticeKind.BillNotOnTrack, $"bill/{compartment.Id}/{bill.Goal}/{bill.Due:O}",
                $"“{label}” is not on track",
                $"{view.Book.Say(behind)} is missing in “{compartment.Label}” by now. Without it the bill of "
                    + $"{view.Book.Say(bill.Amount)} on {Day(bill.Due)} is short.")
            { Compartment = compartment.Id, On = bill.Due };
        }
    }

    private static IEnumerable<Noticed> PaydayTomorrow(NoticeView view)
    {
        var (book, day) = (view.Book, view.Today.AddDays(1));
        var calendar = HouseholdCalendar.Of(book.Household!.Country);
        if (Payday.DaysBetween(day, day, book, calendar).Count == 0
            || (book.FillRuns.TryGetValue(day, out var mark) && mark.State == PaydayState.Filled))
        {
            yield break;
        }

        yield return new Noticed(NoticeKind.PaydayTomorrow, $"payday/{day:O}", "Tomorrow is payday",
            Draw(view, day, calendar))
        { On = day };
    }

    private static string Draw(NoticeView view, DateOnly day, ICalendar calendar)
    {
        FillRun run;
        try
        {
            run = FillRun.Of(day, null, view.Book, calendar);
        }
        catch (RefusalException)
        {
            return $"{Weekday(day)}. What to draw can't be worked out yet.";
        }

        if (run.Cash == Money.Zero)
        {
            return $"{Weekday(day)}. There is nothing to draw.";
        }

        var currency = view.Book.Currency;
        var notes = view.ToAsk(run) is { IsEmpty: false } pieces
            ? $" Ask for {string.Join(", ", pieces.Select(p => $"{p.Count} × {Face(currency.ToDecimal(p.Value))}"))}."
            : "";
        var fills = string.Join(", ", run.Fills.Where(fill => fill.Cash > Money.Zero)
            .Select(fill => $"{view.Book.Say(fill.Cash)} for “{view.Book.Compartments[fill.Compartment].Label}”"));
        return $"{Weekday(day)}. Draw {view.Book.Say(run.Cash)}: {fills}.{notes}";
    }

    private static IEnumerable<Noticed> Paydays(NoticeView view)
    {
        // Told on the day on which it was done, and the next.
        foreach (var run in view.FilledByProgram)
        {
            yield return new Noticed(NoticeKind.PaydayFilled, $"filled/{run.Payday:O}",
                $"The payday of {Day(run.Payday)} is filled",
                $"The program put {view.Book.Say(run.Filled)} into {Written.Many(run.Fills.Length, "compartment")}: "
                    + $"{view.Book.Say(run.Cash)} is to be drawn.")
            { On = run.Payday };
        }

        if (view.Book.FillRuns is { Count: > 0 } marks && marks.Last() is { Value.State: PaydayState.Left } left)
        {
            yield return new Noticed(NoticeKind.PaydayLeft, $"left/{left.Key:O}",
                $"The payday of {Day(left.Key)} is left to you",
                "The program could not fill it; the book says why. Fill it yourself.")
            { On = left.Key };
        }
    }

    private static IEnumerable<Noticed> Disagreeing(NoticeView view)
    {
        var book = view.Book;
        foreach (var compartment in InUse(book))
        {
            foreach (var holding in Enum.GetValues<Holding>())
            {
                if (book.LastCount(new Part(compartment.Id, holding)) is { } count && count.Unsettled != Money.Zero)
                {
                    yield return new Noticed(NoticeKind.CountDisagrees,
                        $"count/{compartment.Id}/{holding}/{count.Line}",
                        $"The count of “{compartment.Label}” disagrees",
                        $"{OverOrShort(book, count.Unsettled)} in {(holding == Holding.Cash ? "cash" : "the bank")} by "
                            + $"the count of {Day(count.OccurredOn)}.")
                    { Compartment = compartment.Id, On = count.OccurredOn };
                }
            }
        }

        if (book.BankStatement is { } statement && statement.Unsettled != Money.Zero)
        {
            yield return new Noticed(NoticeKind.CountDisagrees, $"statement/{statement.Line}",
                "The bank's statement disagrees",
                $"{OverOrShort(book, statement.Unsettled)} by the statement of {Day(statement.OccurredOn)}.")
            { On = statement.OccurredOn };
        }
    }

    // A wallet is counted as a whole; the compartment that waits longest says since when.
    private static IEnumerable<Noticed> Overdue(NoticeView view)
    {
        if (view.Settings.CountedWithin is not { } within)
        {
            yield break;
        }

        foreach (var wallet in view.Book.Wallets.Values.Where(w => !w.Closed).OrderBy(w => w.Line))
        {
            var waiting = InUse(view.Book).Where(c => c.Wallet == wallet.Id && c.Cash > Money.Zero)
                .Select(c => (c.Label, Counted: view.Book.CashCount(c.Id)?.OccurredOn,
                    Since: view.Book.CashCount(c.Id)?.OccurredOn ?? view.NeverCountedSince.GetValueOrDefault(c.Id,
                        view.Today)))
                .OrderBy(c => c.Since).FirstOrDefault();
            if (waiting.Label is not null && view.Today.DayNumber - waiting.Since.DayNumber > within)
            {
                yield return new Noticed(NoticeKind.CountOverdue, $"overdue/{wallet.Id}",
                    $"“{wallet.Label}” is to be counted",
                    waiting.Counted is { } counted
                        ? $"The cash of “{waiting.Label}” was last counted on {Day(counted)}."
                        : $"The cash of “{waiting.Label}” was never counted.")
                { On = waiting.Counted };
            }
        }
    }

    private static IEnumerable<Noticed> CarriedLong(NoticeView view) =>
        from carried in Whereabouts.Carried(view.Book)
        where carried.Amount > Money.Zero
            && view.Today.DayNumber - carried.Handover.Since.DayNumber > view.Settings.CarriedFor
        let label = view.Book.Compartments[carried.Handover.Compartment].Label
        select new Noticed(NoticeKind.CashCarriedLong, $"carried/{carried.Handover.Id}",
            $"{carried.Handover.Carrier} carries cash for long",
            $"{view.Book.Say(carried.Amount)} of “{label}” since {Day(carried.Handover.Since)}.")
        { Compartment = carried.Handover.Compartment, On = carried.Handover.Since };

    // The next month to be closed; before any was, the one before this.
    private static IEnumerable<Noticed> CanBeClosed(NoticeView view)
    {
        var book = view.Book;
        var month = book.ClosedMonths?.Latest.Next ?? Month.Of(view.Today).Previous;
        if (view.Today < month.Last || OpenItem.At(month, book).Any()
            || !book.Days.Keys.Any(place => book.LastDayMoved(place, month.Last) >= month.First))
        {
            yield break;
        }

        yield return new Noticed(NoticeKind.MonthCanBeClosed, $"month/{month}",
            $"{Written.MonthName(month.First)} can be closed",
            "All cash that moved was counted since, and nothing disagrees.")
        { On = month.Last };
    }

    private static IEnumerable<Noticed> Alarmed(NoticeView view) => view.Alarms.Select(alarm => new Noticed(
        alarm.Kind, $"alarm/{alarm.Kind}/{alarm.About}", alarm.Kind switch
        {
            NoticeKind.BackupFailed => "The backup failed",
            NoticeKind.ChainBroken => "The book was changed behind the program's back",
            NoticeKind.WebhookParked => "A webhook is parked",
            _ => "Something is wrong",
        }, alarm.Detail));

    private static IEnumerable<Compartment> InUse(Book book) =>
        book.Compartments.Values.Where(c => !c.Closed).OrderBy(c => c.Line);

    private static string OverOrShort(Book book, Money unsettled) => unsettled > Money.Zero
        ? $"{book.Say(unsettled)} over"
        : $"{book.Say(-unsettled)} short";

    private static string Day(DateOnly day) => day.ToString("d MMMM yyyy", CultureInfo.InvariantCulture);

    private static string Weekday(DateOnly day) => day.ToString("dddd d MMMM", CultureInfo.InvariantCulture);

    private static string Face(decimal value) => value.ToString("0.##", CultureInfo.InvariantCulture);
}
