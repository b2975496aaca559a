namespace CashEvents.Store.Backups;

/// <summary>A household's book in a backup.</summary>
/// <param name="Household">Its id.</param>
/// <param name="Finding">Whether its lines agree with their hashes.</param>
public sealed record BookBackup(string Household, ChainFinding Finding)
{
    /// <summary>What was found once all lines of a book went by.</summary>
    internal static BookBackup Of(BackedUpBook book, ChainFinding walked) => new(book.Household,
        walked.Misfit is null ? walked with { Misfit = walked.Missing(book.Lines) } : walked);
}
