namespace CashEvents.Store.Backups;

/// <summary>A household's book in a backup.</summary>
/// <param name="Household">Its id.</param>
/// <param name="Lines">How many lines it has.</param>
/// <param name="Hash">Hash of the last one, which covers all.</param>
/// <param name="Misfit">The first line that does not agree with its hash; null when all do.</param>
public sealed record BookBackup(string Household, long Lines, string Hash, long? Misfit);
