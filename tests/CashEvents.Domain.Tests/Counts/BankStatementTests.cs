using CsCheck;
using static CashEvents.Domain.Tests.Books.HarbourRow;
using static CashEvents.Domain.Tests.Books.Scenario;

namespace CashEvents.Domain.Tests.Counts;

public class BankStatementTests
{
    private static readonly IBookEvent[] _parts =
        [Fill(Boat, 400m, Sept(1), Holding.Bank), Fill(Van, 211.20m, Sept(1), Holding.Bank), Fill(Ferry, 60m, Sept(1))];

    private static BankStatementRead Read(decimal stated, DateOnly on, bool atDaysEnd,
        params (string Compartment, decimal Amount)[] parts) =>
        new(Eur(parts.Sum(p => p.Amount)), Eur(stated),
            [.. parts.Select(p => new BankPart(p.Compartment, Eur(p.Amount)))], on, atDaysEnd, "");

    private static BankStatementRead Read(decimal stated, DateOnly? on = null) =>
        Read(stated, on ?? Today, (on ?? Today) < Today, (Van, 211.20m), (Boat, 400m));

    private static long Statement => FirstLine + _parts.Length;

    [Fact]
    public void One_figure_is_held_against_all_bank_parts_of_its_day_and_none_of_the_cash()
    {
        Given(_parts).When(new ReadBankStatement(612.40m, null, null)).Then(Read(612.40m));
        Given([.. _parts, Fill(Boat, 5m, Sept(20), Holding.Bank)]).When(new ReadBankStatement(611.20m, Sept(14), ""))
            .Then(Read(611.20m, Sept(14)));
    }

    [Fact]
    public void A_figure_that_can_not_be_one_is_refused()
    {
        Given(_parts).When(new ReadBankStatement(-1m, null, null)).ThenRefused("total-negative", "total");
        Given(_parts).When(new ReadBankStatement(1.001m, null, null)).ThenRefused("too-many-decimals", "total");
        Given(_parts).When(new ReadBankStatement(1m, Sept(25), null)).ThenRefused("after-today", "occurredOn");
        Given(_parts).When(new ReadBankStatement(1m, new DateOnly(2026, 8, 31), null))
            .ThenRefused("nothing-in-bank", "occurredOn");
    }

    [Fact]
    public void Todays_statement_does_not_expect_what_is_written_after_it_and_a_past_days_expects_all_of_its_day()
    {
        var fee = Spend(Boat, 3m, Today, Holding.Bank);

        Assert.Equal(Eur(611.20m), Given([.. _parts, Read(611.20m), fee]).Book.BankStatement!.Expected);
        Assert.Equal(Eur(608.20m),
            Given([.. _parts, Read(611.20m, Sept(20)),
                fee with { OccurredOn = Sept(20) }]).Book.BankStatement!.Expected);
        Assert.Equal(Eur(611.20m),
            Given([.. _parts, Read(611.20m, Sept(20)),
                fee with { OccurredOn = Sept(21) }]).Book.BankStatement!.Expected);
        // What moves between two bank parts changes nothing, and cash is not asked about.
        Assert.Equal(Eur(611.20m),
            Given([.. _parts, Read(611.20m), Transfer(Bank(Boat), Bank(Van), 10m, Sept(10)),
                Spend(Ferry, 5m, Sept(10))]).Book.BankStatement!.Expected);
    }

    [Fact]
    public void Last_means_last_by_day_then_by_line()
    {
        Assert.Equal(Statement, Given(
            [.. _parts, Read(612m, Sept(20)), Read(600m, Sept(10))]).Book.BankStatement!.Line);
        Assert.Equal(Statement + 1,
            Given([.. _parts, Read(612m, Sept(20)), Read(600m, Sept(20))]).Book.BankStatement!.Line);
        Given([.. _parts, Read(612m, Sept(20)), Read(600m, Sept(10))])
            .When(new SettleBankStatement(Statement + 1, Boat, "Fee", null)).ThenRefused("statement-not-open");
    }

    [Fact]
    public void A_difference_is_settled_once_in_the_compartment_named_and_its_reversal_opens_it_again()
    {
        var settled = Given([.. _parts, Read(612.40m)]).When(new SettleBankStatement(Statement, Van, "Interest", null))
            .Then(new BankStatementSettled(Statement, Van, Eur(1.20m), Today, "Interest"));

        Assert.Equal(Eur(212.40m), settled.Book.Compartments[Van].Bank);
        Assert.Equal(Money.Zero, Reconciliation.BankOf(settled.Book)!.Difference);
        settled.When(new SettleBankStatement(Statement, Van, "Interest", null)).ThenRefused("statement-settled");
        var reversed = settled.When(
            new ReverseLine(Statement + 1, new BankStatementSettled(Statement, Van, Eur(1.20m), Today, "Interest"),
                "A forgotten fill"));
        var after = reversed.Then(
            new Reversed(new Correction(Statement + 1), MovementKind.Settlement, [new Posting(Bank(Van), Eur(-1.20m))],
                Today, "A forgotten fill")
            { Statement = Statement }).Book;
        Assert.Equal((false, Eur(1.20m)), (after.BankStatement!.Settled, after.BankStatement!.Difference));
        Assert.Equal(Eur(1.20m), Reconciliation.BankOf(after)!.Difference);
    }

    [Fact]
    public void A_settlement_that_can_not_be_is_refused()
    {
        Given(_parts).When(new SettleBankStatement(3, Van, "Interest", null)).ThenRefused("statement-not-open");
        Given([.. _parts, Read(611.20m)]).When(new SettleBankStatement(Statement, Van, "Interest", null))
            .ThenRefused("nothing-to-settle");
        Given([.. _parts, Read(612.40m, Sept(20))]).When(new SettleBankStatement(Statement, Van, "Interest", Sept(19)))
            .ThenRefused("before-statement", "occurredOn");
        Given([.. _parts, Read(612.40m)]).When(new SettleBankStatement(Statement, "rowing-club", "Interest", null))
            .ThenRefused("compartment-unknown", "compartment");
        Given([.. _parts, Read(300m)]).When(new SettleBankStatement(Statement, Van, "Fee", null))
            .ThenRefused("not-enough", "compartment");
        Given([.. _parts, Read(612.40m)]).When(new SettleBankStatement(Statement, Van, " ", null))
            .ThenRefused("words-missing", "reason");
    }

    [Fact]
    public void A_bank_part_counted_by_itself_on_a_later_day_stands_by_its_count_and_the_statement_no_longer_for_all()
    {
        Assert.NotNull(Reconciliation.BankOf(
            Given([.. _parts, Count(Boat, 400m, 400m, Sept(20), Holding.Bank), Read(611.20m, Sept(20))]).Book));
        Assert.Null(Reconciliation.BankOf(
            Given([.. _parts, Read(611.20m, Sept(20)), Count(Boat, 400m, 400m, Sept(21), Holding.Bank)]).Book));
    }

    /// <summary>
    /// Whatever is written around a statement, before or after its day: what should be there less the balance is what
    /// was stated less what the parts held.
    /// </summary>
    [Fact]
    public void What_is_stated_and_moved_since_is_the_balance_and_the_difference() =>
        Gen.Select(Gen.Int[1, 23], Gen.Select(Gen.Int[1, 24], Gen.Int[1, 900], Gen.Bool).List[0, 20], Gen.Int[0, 20],
            Gen.Int[0, 90_000]).Sample((on, moves, before, stated) =>
        {
            IBookEvent[] lines = [.. moves.Select(
                m => Fill(m.Item3 ? Boat : Van, m.Item2 / 100m, Sept(m.Item1), Holding.Bank))];
            var (first, later) = (lines.Take(before).ToArray(), lines.Skip(before));
            var parts = Given([.. _parts, .. first]);
            var read = (BankStatementRead)new ReadBankStatement(stated / 100m, Sept(on), null).Decide(parts.Book, Today)
                .Single();

            var book = later.Aggregate(parts.Book.Apply(read), (b, line) => b.Apply(line));
            var bank = Reconciliation.BankOf(book)!;

            var held = new[] { Boat, Van }.Select(c => book.BalanceOn(Bank(c), Sept(on))).Aggregate((a, b) => a + b);
            Assert.Equal(new Money(stated) - held, bank.Difference);
            Assert.Equal(bank.Balance + bank.Difference, bank.There);
        });

    // What an earlier statement was settled by is posted in its days: undone, a later one learns it.
    [Fact]
    public void A_settlement_of_an_earlier_statement_that_is_undone_is_learnt_by_the_later_one()
    {
        var settled = new BankStatementSettled(FirstLine + 1, Van, Eur(-1m), Sept(20), "fee");
        BankStatementRead Read(decimal expected, int day) =>
            new(Eur(expected), Eur(4m), [new BankPart(Van, Eur(expected))], Sept(day), true, "");
        var given = Given(Fill(Van, 5m, Sept(1), Holding.Bank), Read(5m, 20), settled, Read(4m, 22));
        Assert.Equal(Money.Zero, given.Book.BankStatement!.Difference);

        var undone = given.When(new ReverseLine(FirstLine + 2, settled, "no fee")).ThenWritten();

        var later = undone.Book.BankStatement!;
        Assert.Equal((FirstLine + 3, Eur(5m), Eur(-1m)), (later.Line, later.Expected, later.Difference));
    }
}
