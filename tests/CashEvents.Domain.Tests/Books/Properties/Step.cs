using CsCheck;

namespace CashEvents.Domain.Tests.Books;

/// <summary>
/// What a household does next: some days later, something that happened today or some days ago (or, by mistake, in days
/// to come).
/// </summary>
/// <param name="DaysLater">How far today moves on first.</param>
/// <param name="DaysAgo">When it happened; no day is written if null.</param>
/// <param name="Command">What is asked, still without its day; a count's total is the difference from the balance, a
/// settlement's count is how many counts back, a correction's line how many lines back.</param>
internal sealed record Step(int DaysLater, int? DaysAgo, ICommand Command)
{
    public static Gen<Step> Any { get; } = Gen.Select(
        Gen.Frequency((3, Gen.Const(0)), (1, Gen.Int[1, 2])),
        Gen.Frequency((4, Gen.Const(default(int?))), (8, Gen.Int[0, 8].Select(d => (int?)d)), (1, Gen.Const((int?)-1))),
        Commands(),
        (later, ago, command) => new Step(later, ago, command));

    /// <summary>The command as it is sent.</summary>
    public ICommand On(DateOnly today, NaiveBook naive, IReadOnlyList<IBookEvent> lines)
    {
        DateOnly? day = DaysAgo is { } ago ? today.AddDays(-ago) : null;
        return Command switch
        {
            IReplacementCommand c when day is { } on => c.DatedOn(on),
            RecordCount { Witness: BeforeWhatIsPostedLate } c when naive.PostedLate() is var (part, posted) => c with
            {
                Compartment = part.Compartment,
                Holding = part.Holding,
                OccurredOn = posted.AddDays(-1),
                Total = Math.Max(0m, (naive.On(part, posted) / 100m) + c.Total!.Value),
            },
            RecordCount c => c with
            {
                OccurredOn = day,
                Total = Math.Max(0m, (naive.On(new Part(c.Compartment, c.Holding), day ?? today) / 100m)
                    + c.Total!.Value)
            },
            SettleCount c => c with { OccurredOn = day, Count = naive.CountBack((int)c.Count) },
            ReverseLine c when Back(c.Line, lines) is var number =>
                c with { Line = number, Written = lines[(int)number - 1] },
            AmendLine c when Back(c.Line, lines) is var number => c with
            {
                Line = number,
                Written = lines[(int)number - 1],
                Replacement = c.Replacement is IReplacementCommand r && day is { } on ? r.DatedOn(on) : c.Replacement,
            },
            TurnMonth => new TurnMonth(Close: !naive.HasClosedMonthBefore(today)),
            _ => Command,
        };
    }

    private const int LastSettlement = -1;
    private const string BeforeWhatIsPostedLate = "late";

    private static long Back(long lines, IReadOnlyList<IBookEvent> written) =>
        Math.Max(1, lines == LastSettlement
            ? written.Select((line, i) => line is CountSettled ? i + 1 : 1).Max()
            : written.Count - lines);

    private static Gen<ICommand> Commands()
    {
        var compartment = Gen.Frequency((40, Gen.OneOf([.. NaiveBook.Compartments.Select(Gen.Const)])),
            (1, Gen.Const("lighthouse")));
        var holding = Gen.Frequency((6, Gen.Const(Holding.Cash)), (1, Gen.Const(Holding.Bank)));
        var part = Gen.Select(compartment, holding, (c, h) => new Part(c, h));
        var filled = Amounts(upTo: 20_000);
        var amount = Amounts(upTo: 4_000);
        var from = Gen.OneOf(
            compartment.Array[1, 3].Select(named => new SweepFrom(Compartments: [.. named])),
            Gen.OneOf(Gen.Const("market-bag"), Gen.Const("strongbox")).Select(wallet => new SweepFrom(Wallet: wallet)),
            Gen.Enum<Purpose>().Select(purpose => new SweepFrom(Purpose: purpose)));
        var leave = Gen.Frequency((3, Gen.Const(default(decimal?))),
            (3, Gen.Int[0, 2_000].Select(cents => (decimal?)(cents / 100m))), (1, Gen.Const((decimal?)-1m)));
        var difference = Gen.OneOf(Gen.Const(0m), Gen.Int[-900, 900].Select(cents => cents / 100m));

        var movement = Gen.Frequency(
            (6, Gen.Select(part, filled, (p, a) => (ICommand)new RecordFill(p.Compartment, p.Holding, a, null, ""))),
            (5, Gen.Select(part, amount, (p, a) => (ICommand)new RecordSpend(p.Compartment, p.Holding, a, null, ""))),
            (4, Gen.Select(part, amount, compartment,
                (p, a, cover) => (ICommand)new RecordSpend(p.Compartment, p.Holding, a, null, "", cover))),
            (1, Gen.Select(part, amount, (p, a) => (ICommand)new RecordRefund(p.Compartment, p.Holding, a, null, ""))),
            (4, Gen.Select(part, part, amount, (p, to, a) => (ICommand)new RecordTransfer(p, to, a, null, ""))),
            (3, Gen.Select(from, holding, part, leave, Gen.Enum<SweepTake>(),
                (f, h, to, l, take) => (ICommand)new RecordSweep(f, h, to, l, null, "") { Take = take })),
            (4, Gen.Select(part, difference,
                (p, d) => (ICommand)new RecordCount(p.Compartment, p.Holding, d, null, null, "", ""))),
            (1, difference.Select(d =>
                (ICommand)new RecordCount(NaiveBook.Compartments[0], Holding.Cash, d, null, null,
                    BeforeWhatIsPostedLate, ""))),
            (4, Gen.Int[0, 2].Select(back => (ICommand)new SettleCount(back, "agreed", null))),
            (2, Gen.Select(Gen.OneOf([.. NaiveBook.Compartments.Select(Gen.Const)]),
                Gen.Frequency((1, Gen.Const(true)), (3, Gen.Const(false))),
                (c, close) => (ICommand)new ChangeCompartment(c, null, null, close))));
        var back = Gen.OneOf(Gen.Int[0, 3], Gen.Int[0, 40]);
        return Gen.Frequency(
            (12, movement),
            (3, Gen.Frequency((4, back), (1, Gen.Const(LastSettlement)))
                .Select(b => (ICommand)new ReverseLine(b, null!, "wrong"))),
            (3, Gen.Select(back, movement.Where(m => m is IReplacementCommand or RecordCount),
                (b, m) => (ICommand)new AmendLine(b, null!, m, "wrong"))),
            (1, Gen.Const((ICommand)new TurnMonth(Close: true))));
    }

    // One in forty is no amount at all.
    private static Gen<decimal> Amounts(int upTo) =>
        Gen.Frequency((40, Gen.Int[1, upTo].Select(cents => cents / 100m)),
            (1, Gen.OneOf(Gen.Const(0m), Gen.Const(-1.50m), Gen.Const(0.005m))));
}

/// <summary>
/// Closes the month before today's, or the one after the last that was closed; or opens the last again.
/// </summary>
internal sealed record TurnMonth(bool Close) : ICommand
{
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) =>
        [Close
            ? new MonthClosed(book.ClosedMonths?.Latest.Next ?? Month.Of(today).Previous, [], "")
            : new MonthReopened(book.ClosedMonths!.Latest, "late receipt")];
}
