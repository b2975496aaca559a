namespace CashEvents.Store.Backups;

/// <summary>A backup can't be written or taken in; the message says why and the mend, for people.</summary>
public sealed class BackupException : Exception
{
    /// <summary>With what is the matter.</summary>
    public BackupException(string message) : base(message)
    {
    }

    /// <summary>With what is the matter and what it comes from.</summary>
    public BackupException(string message, Exception innerException) : base(message, innerException)
    {
    }

    /// <summary>Without words.</summary>
    public BackupException()
    {
    }
}
