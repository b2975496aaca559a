namespace CashEvents.Store.Backups;

/// <summary>The chain of a book's hashes while its lines go by.</summary>
internal sealed class ChainSoFar(string household)
{
    private string _hash = LineHash.BeforeFirst;
    private bool _hashed;
    private long _lines;
    private long? _misfit;

    /// <summary>Takes in the next line.</summary>
    public void Take(StoredLine line)
    {
        var hash = line.Number == _lines + 1 ? line.HashAfter(_hash, household) : null;
        _lines++;
        // Lines that were written before lines had hashes come first.
        if (hash is null || (line.Hash is null ? _hashed : line.Hash != hash))
        {
            _misfit ??= _lines;
        }

        _hashed |= line.Hash is not null;
        _hash = hash ?? _hash;
    }

    /// <summary>What was found, of a book that should have so many lines.</summary>
    public BookBackup End(long lines) =>
        new(household, _lines, _hash, _misfit ?? (_lines == lines ? null : _lines + 1));
}
