using System.Collections.Immutable;
using System.Globalization;

namespace CashEvents.Domain.Books;

// What the book answers those who ask it for a decision, and what must hold of one.
public sealed partial record Book
{
    /// <summary>What can be taken from a place on a day without that or any later day closing below zero.</summary>
    public DayClosing Available(Part part, DateOnly day) =>
        Days.GetValueOrDefault(part, DailyBalances.Empty).LowestFrom(day);

    /// <summary>Balance of a place at the end of a day.</summary>
    public Money BalanceOn(Part part, DateOnly day) => Days.GetValueOrDefault(part, DailyBalances.Empty).On(day);

    /// <summary>
    /// What a count of a place should find at the end of a day: its balance, with the corrections that belong to that
    /// day or an earlier one and are posted later because their month was closed,
    /// and the over and short of earlier counts that is posted later. The notes hold what happened, on whatever page it
    /// was put right.
    /// </summary>
    public Money ExpectedOn(Part part, DateOnly day) => LateCorrections
        .Where(c => c.Place == part && c.BelongsTo <= day && c.PostedOn > day)
        .Aggregate(BalanceOn(part, day), (balance, c) => balance + c.Change);

    /// <summary>The book with the balances that its places held at the end of a day.</summary>
    public Book OnDay(DateOnly day) => this with
    {
        Compartments = Compartments.ToImmutableDictionary(c => c.Key, c => c.Value with
        {
            Cash = BalanceOn(new Part(c.Key, Holding.Cash), day),
            Bank = BalanceOn(new Part(c.Key, Holding.Bank), day),
        }),
    };

    /// <summary>The last day, up to one, on which money moved in a place; null when none did.</summary>
    public DateOnly? LastDayMoved(Part part, DateOnly upTo) =>
        Days.GetValueOrDefault(part, DailyBalances.Empty).LastUpTo(upTo)?.Day;

    /// <summary>The book's currency.</summary>
    /// <exception cref="RefusalException">The household has not named one yet.</exception>
    public Currency Currency => Household?.Currency
        ?? throw Refusal.Conflict("currency-missing",
            $"The household has not named its currency: {Act.DescribeHousehold.Way()} with name, currency, timeZone "
                + $"and "
                + "firstDayOfWeek first.");

    /// <summary>An amount for a sentence.</summary>
    public string Say(Money money) => Household?.Currency?.Say(money) ?? "nothing";

    /// <summary>An amount above zero, exactly as written.</summary>
    /// <exception cref="RefusalException">Not above zero, or not whole in minor units.</exception>
    public Money Amount(decimal written, string field = "amount")
    {
        var amount = Currency.Exactly(written, field);
        return amount > Money.Zero
            ? amount
            : throw Refusal.Unfit(field, "amount-not-positive",
                $"`{field}` is {written.ToString(CultureInfo.InvariantCulture)}: write an amount above zero, and "
                    + $"choose the kind of movement for its direction.");
    }

    /// <summary>A day on which something may have happened; today if none is given.</summary>
    /// <exception cref="RefusalException">After the household's today, or in a closed month.</exception>
    public DateOnly Day(DateOnly? written, DateOnly today)
    {
        var day = written ?? today;
        if (day > today)
        {
            throw Refusal.Unfit("occurredOn", "after-today",
                $"{day:O} is after the household's today, {today:O}: write what has happened, on the day it did.");
        }

        return !IsClosed(day) ? day
            : throw Refusal.Conflict("month-closed",
                $"{Month.Of(day)} is closed, and nothing changes in it: date it {ClosedMonths!.Latest.Next.First:O} or "
                    + $"later, or reopen the month first.", "occurredOn");
    }

    /// <summary>Whether a day is in a closed month, or before the first of them.</summary>
    public bool IsClosed(DateOnly day) => day <= ClosedMonths?.Latest.Last;

    /// <summary>Today, for what can't be written on the day it belongs to.</summary>
    /// <exception cref="RefusalException">In a closed month itself.</exception>
    internal DateOnly OpenDay(DateOnly today) => !IsClosed(today) ? today
        : throw Refusal.Conflict("month-closed",
            $"{Month.Of(today)} is closed, so there is no open month to post the correction in: reopen it first.");

    /// <summary>
    /// Where a correction of a movement stands: on its day, or today when nothing changes on that day any more, with
    /// the day that it belongs to.
    /// </summary>
    /// <exception cref="RefusalException">No month is open.</exception>
    internal (DateOnly Day, DateOnly? ClosedDay) DayToCorrect(IMovement movement, DateOnly today) =>
        IsClosed(movement.OccurredOn)
        ? (OpenDay(today), movement.Corrects?.ClosedDay ?? movement.OccurredOn)
        : (movement.OccurredOn, movement.Corrects?.ClosedDay);

    /// <summary>Refuses to correct a line twice.</summary>
    /// <exception cref="RefusalException">It has been corrected; says by which line.</exception>
    internal void MustStand(long line)
    {
        if (Corrections.By(line) is { } by)
        {
            throw Refusal.Conflict("line-corrected",
                $"Line {line} has been corrected by line {by}, and a line is corrected once: amend line "
                    + $"{Corrections.Latest(line)} if it is still not right.");
        }
    }

    /// <summary>A compartment in use, by the name written.</summary>
    /// <exception cref="RefusalException">Unknown or closed.</exception>
    public Compartment OpenCompartment(string written, string field)
    {
        if (!Compartments.TryGetValue(written, out var compartment))
        {
            var near = NearNames.Of(written, Compartments.Values.Where(c => !c.Closed).Select(c => c.Id));
            throw Refusal.Unfit(field, "compartment-unknown", near.Count > 0
                ? $"There is no compartment '{written}'. Did you mean '{near[0]}'?"
                : $"There is no compartment '{written}'. {Act.ListCompartments.Way()} lists them.", near);
        }

        if (compartment.Closed)
        {
            var near = NearNames.Of(written, Compartments.Values.Where(c => !c.Closed).Select(c => c.Id));
            throw new RefusalException(new Refusal(RefusalSort.Conflict, "compartment-closed",
                $"'{written}' is closed: reopen it with {Act.ChangeCompartment.Way(written)} {{\"closed\": "
                    + $"false}}{(near.Count > 0 ? $", or did you mean '{near[0]}'?" : ".")}", field)
            { Suggestions = near });
        }

        return compartment;
    }

    /// <summary>A wallet by the name written.</summary>
    /// <exception cref="RefusalException">Unknown.</exception>
    public Wallet WalletNamed(string written, string field)
    {
        if (Wallets.TryGetValue(written, out var wallet))
        {
            return wallet;
        }

        var near = NearNames.Of(written, Wallets.Keys);
        throw Refusal.Unfit(field, "wallet-unknown", near.Count > 0
            ? $"There is no wallet '{written}'. Did you mean '{near[0]}'?"
            : $"There is no wallet '{written}'. {Act.ListWallets.Way()} lists them.", near);
    }

    /// <summary>A wallet in use, by the name written.</summary>
    /// <exception cref="RefusalException">Unknown or closed.</exception>
    internal Wallet WalletInUse(string written, string field)
    {
        var wallet = WalletNamed(written, field);
        return !wallet.Closed ? wallet
            : throw Refusal.Conflict("wallet-closed",
                $"'{wallet.Id}' is closed: name another wallet, or reopen it with "
                    + $"{Act.ChangeWallet.Way(wallet.Id)} {{\"closed\": false}} first.", field);
    }

    /// <summary>An id made from a label.</summary>
    /// <exception cref="RefusalException">No letters or digits in it, or taken.</exception>
    internal static string NewId(string label, Func<string, bool> taken, string what)
    {
        var id = Slug.From(label);
        if (id.Length == 0)
        {
            throw Refusal.Unfit("label", "label-without-letters",
                "The id is made from the label's letters and digits, and it has none: write at least one.");
        }

        return !taken(id) ? id
            : throw Refusal.Conflict($"{what}-taken",
                $"There is a {what} '{id}' already: choose a label that differs in its letters or digits.", "label");
    }

    /// <summary>Refuses to take more from a place than is there, that day and every day after.</summary>
    /// <param name="part">Where it is taken.</param>
    /// <param name="amount">How much.</param>
    /// <param name="day">The day.</param>
    /// <param name="field">The field at fault.</param>
    /// <param name="rest">The compartment that gets the amount as its rest, if one does: it can't give to itself, and
    /// one
    /// other has to give the whole.</param>
    /// <param name="to">The compartment that the amount goes to, if it stays in the book: what it would give for that
    /// would only come back.</param>
    /// <exception cref="RefusalException">Too little; says what is there and who could give it.</exception>
    internal void MustHave(Part part, Money amount, DateOnly day, string field, string? rest = null,
        string? to = null)
    {
        var lowest = Available(part, day);
        if (amount <= lowest.Closing)
        {
            return;
        }

        var missing = amount - lowest.Closing;
        var others = Givers(part, rest is null ? missing : amount, day, rest ?? to);
        // Below zero can only be what is left when a line is undone and the right one not yet written.
        var there = lowest.Closing < Money.Zero
            ? $"Without the line that is corrected the {part} would close {lowest.Day:O} at {Say(lowest.Closing)}"
            : lowest.Day > day ? $"The {part} closes {lowest.Day:O} at {Say(lowest.Closing)}, so no more than that "
                + $"can be taken on {day:O}"
            : $"The {part} holds {Say(lowest.Closing)}";
        throw NotEnough(there, new Shortage(part, lowest.Closing, missing, lowest.Day, others), field);
    }

    /// <summary>
    /// Refuses an entry at whose end a place would be below zero at the end of any day; between its lines one may be.
    /// </summary>
    /// <param name="entry">Its movements.</param>
    /// <param name="what">What is done, to begin the sentence with: <c>Without line 12</c>.</param>
    /// <param name="field">The field at fault, if one is.</param>
    /// <exception cref="RefusalException">Too little; says when, what would be there and who could give
    /// it.</exception>
    internal static void MustHaveAfter(Draft entry, string what, string? field = null)
    {
        var after = entry.After;
        foreach (var changed in entry.Cast<IMovement>()
            .SelectMany(line => line.Postings.Select(p => (p.Place, line.OccurredOn)))
            .GroupBy(p => p.Place))
        {
            var since = changed.Min(p => p.OccurredOn);
            var lowest = after.Available(changed.Key, since);
            if (lowest.Closing < Money.Zero)
            {
                // Who gives does so before the entry, and must not be short after it.
                var others = entry.Before.Givers(changed.Key, -lowest.Closing, since)
                    .Intersect(after.Givers(changed.Key, -lowest.Closing, since)).ToList();
                throw after.NotEnough(
                    $"{what} the {changed.Key} would close {lowest.Day:O} at {after.Say(lowest.Closing)}",
                    new Shortage(changed.Key, lowest.Closing, -lowest.Closing, lowest.Day, others), field);
            }
        }
    }

    private List<Giver> Givers(Part part, Money enough, DateOnly day, string? except = null) =>
    [
        .. Compartments.Values
            .Where(c => !c.Closed && c.Id != part.Compartment && c.Id != except)
            .Select(c => new Giver(c.Id, Available(part with { Compartment = c.Id }, day).Closing))
            .Where(c => c.Available >= enough)
            .OrderByDescending(c => c.Available).ThenBy(c => c.Compartment, StringComparer.Ordinal)
            .Take(5),
    ];

    private RefusalException NotEnough(string there, Shortage shortage, string? field = null) => new(new Refusal(
        RefusalSort.Conflict, "not-enough",
        $"{there}: {Say(shortage.Missing)} is missing. "
            + (shortage.CouldGive is [var richest, ..] ? $"'{richest.Compartment}' could give it."
                : "No other compartment could give it."), field)
    { Facts = shortage });

    /// <summary>The compartment that is asked for.</summary>
    /// <exception cref="RefusalException">There is none of this id.</exception>
    public Compartment CompartmentNamed(string id) => Compartments.GetValueOrDefault(id)
        ?? throw Refusal.NotFound("compartment-unknown", $"There is no compartment '{id}'.",
            NearNames.Of(id, Compartments.Keys));

    /// <summary>The compartment that is asked for as of a line.</summary>
    /// <exception cref="RefusalException">There is none of this id, or there was none at that line.</exception>
    public Compartment CompartmentNamed(string id, long? atLine) => CompartmentNamed(id) is var compartment
        && atLine < compartment.Line
            ? throw Refusal.NotFound("compartment-unknown",
                $"There was no compartment '{id}' at line {atLine}: line {compartment.Line} opened it.")
            : compartment;

    /// <summary>The wallet that is asked for.</summary>
    /// <exception cref="RefusalException">There is none of this id.</exception>
    public Wallet WalletNamed(string id) => Wallets.GetValueOrDefault(id)
        ?? throw Refusal.NotFound("wallet-unknown", $"There is no wallet '{id}'.", NearNames.Of(id, Wallets.Keys));

    /// <summary>Refuses to close a compartment that a part of the book still needs.</summary>
    /// <exception cref="RefusalException">It does.</exception>
    internal void MustNotNeed(string compartment)
    {
        if (Section.All.Select(section => section.WhyInUse(this, compartment)).FirstOrDefault(why => why is not null)
            is { } why)
        {
            throw new RefusalException(why);
        }
    }
}
