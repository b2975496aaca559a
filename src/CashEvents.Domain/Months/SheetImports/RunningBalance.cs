namespace CashEvents.Domain.Months;

/// <summary>A sheet's running balance, followed from row to row.</summary>
/// <param name="Rows">The rows in the order in which the balances follow: two that changed places are put
/// right.</param>
/// <param name="Opening">The balance before the first row, by the sheet; null when no balance is written on it.</param>
/// <param name="Findings">Where it does not follow.</param>
/// <param name="Notes">What was bridged and put right.</param>
internal sealed record RunningBalance(IReadOnlyList<SheetRow> Rows, Money? Opening, IReadOnlyList<Finding> Findings,
    IReadOnlyList<string> Notes)
{
    /// <summary>Follows the balances of a sheet.</summary>
    /// <param name="sheet">The sheet.</param>
    /// <param name="opening">What the book has before its first row; null to begin with what the sheet says.</param>
    /// <param name="currency">For sentences.</param>
    public static RunningBalance Of(TrackerSheet sheet, Money? opening, Currency currency)
    {
        var walk = new Walk([.. sheet.Rows], currency) { Balance = opening };
        walk.Follow();
        return new RunningBalance(walk.Rows, walk.Opening, walk.Findings, walk.Notes);
    }

    private sealed class Walk(List<SheetRow> rows, Currency currency)
    {
        // Rows since the last balance: more than one where balances were skipped.
        private readonly List<SheetRow> _since = [];
        private readonly List<int> _skipped = [];

        public List<SheetRow> Rows => rows;

        public Money? Balance { get; set; }

        public Money? Opening { get; private set; }

        public List<Finding> Findings { get; } = [];

        public List<string> Notes { get; } = [];

        public void Follow()
        {
            for (var i = 0; i < rows.Count; i++)
            {
                _since.Add(rows[i]);
                if (rows[i].Balance is not { } written)
                {
                    _skipped.Add(rows[i].Number);
                    continue;
                }

                var isFirst = Opening is null;
                Opening ??= written - Sum(_since);
                Balance ??= Opening;
                var expected = Balance.Value + Sum(_since);
                if (expected == written)
                {
                    NoteBalanceOnly(rows[i]);
                    Balance = written;
                }
                else if (AreExchanged(i))
                {
                    (rows[i], rows[i + 1]) = (rows[i + 1], rows[i]);
                    Opening = isFirst ? rows[i].Balance - (rows[i].Amount ?? Money.Zero) : Opening;
                    Notes.Add($"Rows {rows[i + 1].Number} and {rows[i].Number} changed places: the balances follow "
                        + $"when row {rows[i].Number} is read before row {rows[i + 1].Number}, and so they are.");
                    Balance = rows[i + 1].Balance;
                    i++;
                }
                else if (GoesOnWithout(i, expected))
                {
                    Findings.Add(OfBalance(rows[i], expected,
                        ", and the next balance goes on from that: this one alone is wrong", [Reading.Amount]));
                    Balance = expected;
                }
                else
                {
                    Findings.Add(isFirst
                        ? OfOpening(rows[i], written)
                        : OfAmount(rows[i], expected, written,
                            isLast: rows.FindIndex(i + 1, r => r.Balance is not null) < 0));
                    Balance = written;
                }

                _since.Clear();
            }

            if (_skipped.Count > 0)
            {
                Notes.Add($"{SheetWords.Rows(_skipped)} {(_skipped.Count == 1 ? "has" : "have")} no balance: "
                    + (_skipped.Count == rows.Count
                        ? "nothing can be compared on this sheet."
                        : "the balances are followed from the one before to the one after."));
            }
        }

        private static Money Sum(IEnumerable<SheetRow> rows) =>
            rows.Aggregate(Money.Zero, (sum, r) => sum + (r.Amount ?? Money.Zero));

        private void NoteBalanceOnly(SheetRow row)
        {
            if (row.Amount is null)
            {
                Notes.Add($"Row {row.Number} says a balance and no amount, and the balance follows: nothing is written "
                    + $"for it.");
            }
        }

        private bool AreExchanged(int i) => _since.Count == 1 && i + 1 < rows.Count
            && rows[i] is { Amount: { } one, Balance: { } afterOne }
            && rows[i + 1] is { Amount: { } other, Balance: { } afterOther }
            && Balance!.Value + other == afterOther && afterOther + one == afterOne;

        private bool GoesOnWithout(int i, Money expected)
        {
            for (var j = i + 1; j < rows.Count; j++)
            {
                expected += rows[j].Amount ?? Money.Zero;
                if (rows[j].Balance is { } balance)
                {
                    return balance == expected;
                }
            }

            return false;
        }

        private Finding OfAmount(SheetRow row, Money expected, Money written, bool isLast)
        {
            var missing = written - expected;
            var slips = _since.Select(
                r => (Row: r, Slip: Slip.Between((r.Amount ?? Money.Zero) + missing, r.Amount ?? Money.Zero)))
                .Where(s => s.Slip is not null).ToList();
            if (slips.Count == 0 && isLast && row.Amount is not null && Slip.Between(expected, written) is not null)
            {
                return OfBalance(row, expected, "", [Reading.Amount, Reading.Balance]);
            }

            var (at, slip) = slips.Count > 0 ? slips[0] : (row, null);
            var (stands, follows) = (at.Amount ?? Money.Zero, (at.Amount ?? Money.Zero) + missing);
            var from = Say(Balance!.Value);
            var goes = _since.Count == 1
                ? $"the balance goes from {from} to {Say(written)}"
                : $"the balance goes from {from} to {Say(written)} over rows {_since[0].Number} to {row.Number}";
            return new Finding(
                at.Number, FindingKind.Amount,
                $"Row {at.Number} {(at.Amount is null ? "has no amount" : $"says {Say(stands)}")}, and {goes}, which "
                    + $"is {Say(follows)} for this row: {Likely(at, slip, stands, follows, missing)}.",
                at.Amount is null ? [Reading.Balance] : [Reading.Balance, Reading.Amount])
            {
                Stands = at.Amount,
                Follows = follows,
                Leads = follows,
                Slip = slip?.Kind,
                Likely = slip is not null || follows == Money.Zero ? Reading.Balance : null,
            };
        }

        private Finding OfOpening(SheetRow row, Money written)
        {
            var missing = Opening!.Value - Balance!.Value;
            var slips = _since.Select(
                r => (Row: r, Slip: Slip.Between((r.Amount ?? Money.Zero) + missing, r.Amount ?? Money.Zero)))
                .Where(s => s.Slip is not null).ToList();
            var (at, slip) = slips.Count > 0 ? slips[0] : (row, null);
            var (stands, follows) = (at.Amount ?? Money.Zero, (at.Amount ?? Money.Zero) + missing);
            var begins = $"The sheet begins with {Say(Opening.Value)} before row {_since[0].Number}, and the book has "
                + $"{Say(Balance.Value)} there";
            var unless = slip is null
                ? ""
                : $"; or {Likely(at, slip, stands, follows, missing)}, and {Say(follows)} belongs in row {at.Number}";
            var cause = missing > Money.Zero
                ? $"money may have been brought forward that the book does not know (opening=broughtForward fills "
                    + $"{Say(missing)})"
                : "the book has lines that are not on the sheet, or the sheet lacks a fill";
            return new Finding(at.Number, FindingKind.Opening, $"{begins}: {cause}{unless}.",
                slip is null ? [Reading.Amount] : [Reading.Amount, Reading.Balance])
            {
                Stands = Opening,
                Follows = Balance,
                Leads = slip is null ? null : follows,
                Slip = slip?.Kind,
            };
        }

        private Finding OfBalance(SheetRow row, Money expected, string evidence, Reading[] readings)
        {
            var slip = Slip.Between(expected, row.Balance!.Value);
            return new Finding(row.Number, FindingKind.Balance,
                $"Row {row.Number} has the balance {Say(row.Balance.Value)}, and {Say(expected)} follows{evidence}"
                    + $"{(slip is null ? "" : $"; {Words(slip.Value.Kind, "balance")}")}.", [.. readings])
            {
                Stands = row.Balance,
                Follows = expected,
                Leads = readings.Contains(Reading.Balance) ? row.Amount + (row.Balance.Value - expected) : null,
                Slip = slip?.Kind,
                Likely = Reading.Amount,
            };
        }

        private string Likely(SheetRow row, Slip? slip, Money stands, Money follows, Money missing) =>
            slip is not null ? Words(slip.Value.Kind, "amount")
            : follows == Money.Zero ? rows.Any(
                r => r != row && r.Date == row.Date && r.Amount == row.Amount && r.Description == row.Description)
                ? "the row may stand on the sheet twice"
                : "the row was not added to the balance, or should not be on the sheet"
            : follows.Minor == 2 * stands.Minor
                ? "it may have been added twice, or a second row of the same amount was left out"
            : $"a row of {Say(missing)} may have been left out before it, or the balance was added up wrong";

        private static string Words(SlipKind kind, string what) => kind switch
        {
            SlipKind.Transposition => $"two figures of the {what} may have changed places",
            SlipKind.Slide => $"the point of the {what} may have slid",
            SlipKind.WrongSide => $"the {what} may lack its minus, or have one too many",
            SlipKind.Doubling => $"the {what} may have been doubled",
            _ => $"the {what} was left out",
        };

        private string Say(Money money) => currency.Say(money);
    }
}
