namespace CashEvents.Domain.Months;

/// <summary>
/// Writes the rows of a tracker sheet that the book does not have yet: fills, spends and refunds dated as on paper, all
/// in one entry or none.
/// </summary>
/// <param name="Compartment">Whose sheet it is.</param>
/// <param name="Holding">The holding of what is brought forward.</param>
/// <param name="Sheet">The sheet.</param>
/// <param name="Known">What the book has on its days.</param>
/// <param name="BringForward">Whether what the sheet begins with and the book does not know is filled.</param>
/// <param name="Accepted">What the keeper says of rows in which something does not fit.</param>
public sealed record ImportSheet(string Compartment, Holding Holding, TrackerSheet Sheet, Tracked Known,
    bool BringForward, Accepted Accepted) : ISignedCommand
{
    /// <summary>The description of what is brought forward.</summary>
    public const string BroughtForward = "Brought forward";

    /// <summary>The code of the refusal of a sheet in which something does not fit.</summary>
    public const string DoesNotFit = "sheet-does-not-fit";

    /// <summary>Whose hands the money of its spends came from.</summary>
    public Hands Hands { get; init; } = Hands.Unsaid;

    /// <inheritdoc />
    public ICommand SignedBy(string key) => this with { Hands = Hands with { By = key } };

    /// <inheritdoc />
    public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(book);
        if (book.Line != Known.Line)
        {
            throw new RefusalException(Refusal.MovedOn(book.Line, Known.Line));
        }

        var compartment = book.OpenCompartment(Compartment, "compartment").Id;
        var import = SheetImport.Of(Sheet, Known, BringForward, Accepted, book.Currency);
        if (import.Open.FirstOrDefault() is { } first)
        {
            var more = import.Open.Count() - 1;
            throw Refusal.Unfit("accept", DoesNotFit,
                $"{first.Says} "
                    + more switch
                    {
                        0 => "",
                        1 => "1 more place does not fit. ",
                        _ => $"{more} more places do not fit. ",
                    }
                    + "Nothing is written: mend the sheet, or say in `accept` what is right in each such row, and "
                    + "send it again.");
        }

        var entry = new Draft(book, today);
        if (import.BroughtForward > Money.Zero)
        {
            entry.Add(new Filled(compartment, Holding, import.BroughtForward,
                TrackerSheet.InRow(Sheet.Rows[0].Number, () => book.Day(Sheet.First, today)), BroughtForward));
        }

        foreach (var row in import.New)
        {
            entry.Add(TrackerSheet.InRow(row.Row.Number,
                () => Line(entry.After, compartment, row, entry.After.Day(row.Row.Date, today))));
        }

        Book.MustHaveAfter(entry, "With this sheet", "csv");
        return entry;
    }

    private IMovement Line(Book before, string compartment, ImportedRow row, DateOnly day)
    {
        var part = new Part(compartment, row.Row.Holding);
        return row.Amount < Money.Zero
            ? new Spent(compartment, part.Holding, -row.Amount, day, row.Row.Description)
            { Carried = Hands.Take(before, part, -row.Amount) }
            : row.Row.IsRefund ? new Refunded(compartment, part.Holding, row.Amount, day, row.Row.Description)
            { Carried = Hands.Put(before, part, row.Amount) }
            : new Filled(compartment, part.Holding, row.Amount, day, row.Row.Description);
    }
}
