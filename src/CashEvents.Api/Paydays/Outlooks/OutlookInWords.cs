namespace CashEvents.Api.Paydays;

/// <summary>An outlook in this API's words and the book's currency.</summary>
internal sealed class OutlookInWords(Outlook outlook, Book book)
{
    private readonly Currency _currency = book.Currency;

    private readonly List<string> _notCounted =
        [.. book.IncomeSources.Values.Where(source => source.Amount is null).Select(source => source.Id)
            .Order(StringComparer.Ordinal)];

    public OutlookAnswer Answer()
    {
        var shortages = outlook.Stretches.SelectMany(stretch => stretch.Shortages.Select(s => Shortage(s, stretch)))
            .ToList();
        return new OutlookAnswer(outlook.From, outlook.To, _currency.Code, shortages,
            [.. outlook.Stretches.Select(Stretch)], book.Line)
        {
            FirstShort = shortages is [var first, ..] ? first : null,
            NotCounted = _notCounted.Count > 0 ? _notCounted : null,
            Note = string.Join(' ', Notes(source => source).Select(note => note.Says + note.How))
                is { Length: > 0 } note ? note : null,
        };
    }

    private decimal Say(Money money) => _currency.ToDecimal(money);

    private OutlookStretchAnswer Stretch(OutlookStretch stretch) =>
        new(stretch.From, stretch.Until, Bank(stretch.BankNeeded), [.. stretch.Rows.Select(Row)])
        {
            Payday = stretch.Run is { } run ? Payday(run, stretch) : null,
        };

    private OutlookPaydayAnswer Payday(FillRun run, OutlookStretch stretch) => new(
        run.Payday, Say(run.Pay), Say(run.Bills), Say(run.Savings), Say(run.Cash), Say(run.Bank), Say(run.Filled),
        Say(run.Cut), Say(run.StaysInBank), Say(stretch.StayedInBank));

    private OutlookBankAnswer Bank(BankNeeded needed) =>
        new(Say(needed.Compartments), Say(needed.Bills), Say(needed.Savings), Say(needed.Steps), Say(needed.Total));

    private OutlookRowAnswer Row(OutlookRow row) => new(
        row.Compartment, book.Compartments[row.Compartment].Label, Say(row.Opening.Total), Say(row.Interest),
        Say(row.Filled.Total), Say(row.Balance.Total), Say(row.Balance.Cash), Say(row.Balance.Bank), Say(row.Saved),
        Say(row.Spent), Say(row.Bills), Say(row.Closing.Total), Say(row.Closing.Cash), Say(row.Closing.Bank),
        Say(row.Lowest.Total))
    {
        BillsPaid = row.Moves.Where(move => move.Bill is not null).Select(move => new OutlookBillAnswer(
            move.Bill!.Goal, book.Goals[move.Bill.Goal].Label, move.On, Say(move.Bill.Amount))).ToList()
            is { Count: > 0 } paid ? paid : null,
    };

    private OutlookShortageAnswer Shortage(OutlookShortage s, OutlookStretch stretch) =>
        new(s.On, s.Of, Say(s.Missing), WhatIsShort(s, stretch))
        {
            Compartment = s.Compartment,
            Goal = s.Bill?.Goal,
            Due = s.Bill?.Due,
        };

    private string WhatIsShort(OutlookShortage s, OutlookStretch stretch)
    {
        var missing = _currency.Say(s.Missing);
        return s.Of switch
        {
            ShortOf.Bank => $"Bills and automatic savings from {s.On:O} to {stretch.Run!.Next.AddDays(-1):O} take "
                + $"{missing} more than that pay and what stayed of the pay before: the bank has to hold it already.",
            ShortOf.Step => $"Saving steps of '{s.Compartment}' from {s.On:O} to {stretch.Until:O} take {missing} more "
                + "than what is left of the pay: the bank has to hold it already, or they wait.",
            ShortOf.Bill => $"{book.Goals[s.Bill!.Goal].Label}, {_currency.Say(s.Bill.Amount)} due {s.Bill.Due:O}: "
                + $"{missing} is missing in '{s.Compartment}'.",
            _ => $"'{s.Compartment}' has nothing left on {s.On:O}: the plan would spend {missing} more until "
                + $"{stretch.Until:O}.",
        };
    }

    /// <summary>What the outlook does not know, in the household's words and without what programs send.</summary>
    public string? NoteOnPaper => string.Join(' ', Notes(source => book.IncomeSources[source].Label)
        .Select(note => note.Says + ".")) is { Length: > 0 } note ? note : null;

    private IEnumerable<(string Says, string How)> Notes(Func<string, string> source)
    {
        if (_notCounted.Count > 0)
        {
            yield return ($"{string.Join(", ", _notCounted.Select(source))} pays as it comes and is counted as nothing",
                $": send `pay` to suppose an amount, such as pay={_notCounted[0]}:100.00.");
        }

        if (outlook.LastPayday is { } last)
        {
            yield return ($"No payday is known after {last:O}, so nothing says how long its pay has to last, and it is "
                + "not filled", ": set who pays next with PUT /api/income-sources/{id}.");
        }
        else if (outlook.Stretches.All(stretch => stretch.Run is null))
        {
            yield return ("No payday comes in this time, so nothing is filled",
                ". PUT /api/income-sources/{id} sets who pays.");
        }
        else if (outlook.Stretches.All(stretch => stretch.Run is null or { Fills.IsEmpty: true }))
        {
            yield return ("No compartment has a fill rule, so nothing is filled",
                ". PUT /api/compartments/{id}/fill-rule sets one.");
        }
    }
}
