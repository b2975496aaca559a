namespace CashEvents.Domain.Explanations;

/// <summary>Movements that may be missing in a counted place: an item that was left out.</summary>
internal sealed class MissingMovements(LookedAt at, CountedPlace counted, DaysLeft days)
{
    private const int DaysTakenBack = 45;

    private readonly Part _place = counted.Place;
    private Dictionary<MovementKind, decimal>? _shares;
    private Dictionary<long, decimal>? _spent;
    private List<(DateOnly Day, Money Available)>? _daysBefore;
    private List<(Part Place, decimal Share)>? _partners;

    /// <summary>Those that alone would make a difference.</summary>
    public IEnumerable<Mistake> Making(Money difference) => Weights(difference)
        .Select(w => (Mistake)Of(w.Kind, difference))
        .Concat(Partners.Select(p => Transfer(difference, p.Place, p.Share)).OfType<Mistake>());

    /// <summary>How much speaks for each way in which a movement is missing that is no transfer.</summary>
    public IEnumerable<(MovementKind Kind, decimal Weight)> Weights(Money difference) => difference < Money.Zero
        ? [(MovementKind.Spend, Weight(MovementKind.Spend, difference))]
        : [(MovementKind.Refund, Weight(MovementKind.Refund, difference)),
            (MovementKind.Fill, Weight(MovementKind.Fill, difference))];

    /// <summary>How much speaks for two spends of amounts that nobody has seen, which add up to a difference.</summary>
    public decimal TwoSpends(Money difference)
    {
        var each = at.Priors.Of(MistakeKind.NotRecorded) * KindShare(MovementKind.Spend);
        return difference >= Money.Zero ? 0m
            : each * each / 2 * at.Habits.ShareOfTwo(_place, MovementKind.Spend, difference);
    }

    /// <summary>Those whose amounts were seen, or are round sums of notes.</summary>
    public IEnumerable<Mistake> Known()
    {
        foreach (var amount in at.Habits.Amounts(_place, MovementKind.Spend, goesOut: true))
        {
            yield return Of(MovementKind.Spend, amount);
        }

        foreach (var amount in at.Habits.Amounts(_place, MovementKind.Fill, goesOut: false))
        {
            yield return Of(MovementKind.Fill, amount);
        }

        foreach (var amount in at.Habits.Amounts(_place, MovementKind.Refund, goesOut: false)
            .Concat(Spent.Keys.Select(a => new Money(a))).Distinct())
        {
            yield return Of(MovementKind.Refund, amount);
        }

        foreach (var (partner, share) in Partners)
        {
            foreach (var sum in at.RoundSums)
            {
                foreach (var change in new[] { new Money(sum), new Money(-sum) })
                {
                    if (Transfer(change, partner, share) is { } transfer)
                    {
                        yield return transfer;
                    }
                }
            }
        }
    }

    // Of movements that are left out, which are of a kind: by how often the place has them, and how easily they are
    // forgotten. Who takes a thing back writes nothing, since there is no ticket.
    private decimal KindShare(MovementKind kind)
    {
        if (_shares is null)
        {
            var (spends, refunds) = (at.Habits.Times(_place, MovementKind.Spend, true),
                at.Habits.Times(_place, MovementKind.Refund, false));
            var fills = at.Habits.Times(_place, MovementKind.Fill, false);
            var transfers = at.Habits.Times(_place, MovementKind.Transfer, true)
                + at.Habits.Times(_place, MovementKind.Transfer, false);
            _shares = new Dictionary<MovementKind, decimal>
            {
                [MovementKind.Spend] = spends + 0.5m,
                [MovementKind.Refund] = (2m * refunds) + (0.12m * spends) + 0.1m,
                [MovementKind.Fill] = (0.35m * fills) + 0.1m,
                [MovementKind.Transfer] = (1.2m * transfers) + (0.1m * spends) + 0.3m,
            };
            var all = _shares.Values.Sum();
            _shares = _shares.ToDictionary(s => s.Key, s => s.Value / all);
        }

        return _shares[kind];
    }

    /// <summary>A movement of one kind that is missing, on its likeliest day.</summary>
    public NotRecorded Of(MovementKind kind, Money change)
    {
        var amount = new Money(Math.Abs(change.Minor));
        var known = at.Habits.WordsFor(_place, kind, change)
            ?? (kind == MovementKind.Refund ? at.Habits.WordsFor(_place, MovementKind.Spend, -change) : null);
        var day = Day(kind, change, known?.Words);
        var (on, words) = (day ?? counted.Count.OccurredOn, known?.Words ?? "");
        IReplacement movement = kind switch
        {
            MovementKind.Spend => new Spent(_place.Compartment, _place.Holding, amount, on, words),
            MovementKind.Fill => new Filled(_place.Compartment, _place.Holding, amount, on, words),
            _ => new Refunded(_place.Compartment, _place.Holding, amount, on, words),
        };
        var later = counted.Later.Count(l => l.Change == change && l.Said.Kind == kind && l.Said.Description == words);
        return new NotRecorded(movement, Math.Max(0, (known?.Times ?? 0) - later), day is null ? counted.Taken : null)
        { Weight = Weight(kind, change) };
    }

    private decimal Weight(MovementKind kind, Money change) => at.Priors.Of(MistakeKind.NotRecorded) * KindShare(kind)
        * (kind == MovementKind.Refund ? RefundShare(change) : at.Habits.Share(_place, kind, change))
        * (at.Habits.WordsFor(_place, kind, change) is var (words, _)
            ? days.For(kind, change < Money.Zero, words)
            : 1m);

    // What comes back is often the whole of what was paid some days before.
    private decimal RefundShare(Money change) =>
        (Habits.TakenBackWhole * Spent.GetValueOrDefault(change.Minor))
            + ((1m - Habits.TakenBackWhole) * at.Habits.Share(_place, MovementKind.Refund, change));

    // Spends of the last weeks by amount: half as likely to come back after ten days, a third after twenty.
    private Dictionary<long, decimal> Spent
    {
        get
        {
            if (_spent is null)
            {
                var recent = counted.Lines
                    .Concat(counted.Later.Where(l => l.Said.OccurredOn <= counted.Count.OccurredOn))
                    .Where(l => l.Said is Spent)
                    .Select(l => (Amount: -l.Change.Minor,
                        Days: counted.Count.OccurredOn.DayNumber - l.Said.OccurredOn.DayNumber))
                    .Where(l => l.Days <= DaysTakenBack)
                    .GroupBy(l => l.Amount).ToDictionary(g => g.Key, g => g.Sum(l => 10m / (10 + l.Days)));
                var all = Math.Max(1m, recent.Values.Sum());
                _spent = recent.ToDictionary(r => r.Key, r => r.Value / all);
            }

            return _spent;
        }
    }

    private NotRecorded? Transfer(Money change, Part partner, decimal share)
    {
        var (from, to) = change < Money.Zero ? (_place, partner) : (partner, _place);
        var day = Day(MovementKind.Transfer, change, null);
        return day is not { } on ? null
            : new NotRecorded(new Transferred(from, to, new Money(Math.Abs(change.Minor)), on, ""), 0, null)
            {
                Weight = at.Priors.Of(MistakeKind.NotRecorded) * KindShare(MovementKind.Transfer) / 2 * share
                    * TransferShare(change),
            };
    }

    // Mostly a round sum, one to four notes of a value.
    private decimal TransferShare(Money change) =>
        (0.5m * at.ShareOfRoundSums(change)) + (0.5m * at.Habits.ShareOfKind(MovementKind.Transfer, change));

    // Those with whom it was shared before, rather than others; of others, those that move much.
    private List<(Part Place, decimal Share)> Partners
    {
        get
        {
            if (_partners is null)
            {
                var all = at.Book.Compartments.Values.Where(c => !c.Closed)
                    .SelectMany(c => new[] { new Part(c.Id, Holding.Cash), new Part(c.Id, Holding.Bank) })
                    .Where(p => p != _place && (p.Holding == _place.Holding
                        || (p.Compartment == _place.Compartment && at.Habits.Knows(p))))
                    .ToList();
                var usual = all.Count == 0 ? 1m : Math.Max(0.01m, all.Average(at.Habits.PerDay));
                var shares = all.ConvertAll(p => (Place: p, Share: at.Habits.Transfers(_place, p)
                    + 0.3m + (0.3m * at.Habits.PerDay(p) / usual)));
                var sum = shares.Sum(p => p.Share);
                _partners = shares.ConvertAll(p => (p.Place, p.Share / sum));
            }

            return _partners;
        }
    }

    // The likeliest day since the last agreeing count and before this one: by the weekday, and rather one on which the
    // like is not there yet. Lines of the day itself count as later.
    private DateOnly? Day(MovementKind kind, Money change, string? words)
    {
        (DateOnly Day, decimal Fit)? best = null;
        var fits = words is null ? [] : days.Each(kind, change < Money.Zero, words);
        for (var i = 0; i < DaysBefore.Count; i++)
        {
            var (day, available) = DaysBefore[i];
            if (available < -change)
            {
                break;
            }

            if (words is null)
            {
                return day;
            }

            if (best is null || fits[i] > best.Value.Fit)
            {
                best = (day, fits[i]);
            }
        }

        return best?.Day;
    }

    // The latest first, with what can be taken on each without a later one falling below zero: the earlier, the less.
    private List<(DateOnly Day, Money Available)> DaysBefore => _daysBefore ??=
    [
        .. days.Before.TakeWhile(day => !at.Book.IsClosed(day))
            .Select(day => (day, at.Book.Available(_place, day).Closing)),
    ];
}
