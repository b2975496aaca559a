namespace CashEvents.Api.Months;

/// <summary>A sheet as it was sent, to be held against what the book has of the same days.</summary>
internal sealed class SentSheet
{
    private readonly SheetImportRequest _request;
    private readonly Accepted _accepted;
    private readonly Caller _caller;
    private readonly TrackerReader _trackers;
    private readonly TrackerSheet _sheet;
    private readonly Holding? _trackedHolding;

    /// <summary>Reads the sheet.</summary>
    /// <exception cref="RefusalException">It can't be read, or there is no such compartment.</exception>
    public SentSheet(SheetImportRequest request, Accepted accepted, Book book, Caller caller, TrackerReader trackers)
    {
        (_request, _accepted, _caller, _trackers) = (request, accepted, caller, trackers);
        Currency = book.Currency;
        Compartment = IdOfCompartment(request, book);
        var file = SheetFile.Read(request.Csv!);
        var sheet = TrackerSheet.Read(file.Rows, Currency, Holding, request.DateOrder, request.DecimalMark);
        _sheet = sheet with { Notes = [.. file.Notes, .. sheet.Notes] };
        // A sheet that names the holding row by row has one running balance for both.
        _trackedHolding = file.HasHolding ? null : Holding;
    }

    /// <summary>The household's currency.</summary>
    public Currency Currency { get; }

    /// <summary>The compartment's id.</summary>
    public string Compartment { get; }

    private Holding Holding => _request.Holding ?? Domain.Books.Holding.Cash;

    /// <summary>What importing it asks of the book, as the book stands now or stood at a line.</summary>
    public async Task<ImportSheet> AgainstBookAsync(long? atLine, CancellationToken cancellation)
    {
        var tracker = await _trackers.ReadAsync(_caller.Household, Compartment, _trackedHolding, _sheet.First,
            _sheet.Last, atLine, cancellation).ConfigureAwait(false);
        var known = new Tracked(tracker.BookLine, tracker.Opening, [.. tracker.Rows.Select(LineOf)]);
        var bringForward = _request.Opening == OpeningBalance.BroughtForward;
        return new ImportSheet(Compartment, Holding, _sheet, known, bringForward, _accepted)
        {
            Hands = new Hands(_caller.Name, _request.Carried),
        };
    }

    /// <summary>What becomes of each row.</summary>
    public SheetImport Import(ImportSheet command) =>
        SheetImport.Of(command.Sheet, command.Known, command.BringForward, command.Accepted, Currency);

    /// <summary>It in this API's words; <paramref name="lines"/> is null where none was written.</summary>
    public SheetImportAnswer Answer(SheetImport import, IReadOnlyList<long>? lines,
        IEnumerable<(Part Place, Money Balance)> balances) =>
        SheetImportAnswer.Of(Compartment, import, Currency, lines,
            [.. balances.Select(b => new BalanceAnswer(b.Place.Compartment, b.Place.Holding,
                Currency.ToDecimal(b.Balance)))]);

    // One that has been closed since is refused by the book when it decides, unless the request was answered before.
    private static string IdOfCompartment(SheetImportRequest request, Book book) =>
        request.DryRun is not true && book.Compartments.TryGetValue(request.Compartment!, out var known)
            ? known.Id
            : book.OpenCompartment(request.Compartment!, "compartment").Id;

    private static TrackedLine LineOf(TrackerRow row)
    {
        var reverses = row.Kind == LineKinds.Names[typeof(Reversed)];
        return new TrackedLine(row.Line, row.OccurredOn, row.Description, row.Amount, row.Holding)
        {
            Reverses = reverses,
            Amends = reverses ? null : row.Corrects,
            ReversedBy = row.ReversedBy,
        };
    }
}
