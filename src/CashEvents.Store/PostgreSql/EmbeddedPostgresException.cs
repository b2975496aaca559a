namespace CashEvents.Store.PostgreSql;

/// <summary>The embedded PostgreSQL can't be used; the message tells the person why and what to do.</summary>
public class EmbeddedPostgresException : Exception
{
    /// <summary>Says only that the embedded PostgreSQL can't be used.</summary>
    public EmbeddedPostgresException()
        : this("The embedded PostgreSQL can't be used.")
    {
    }

    /// <summary>Says why, and what to do.</summary>
    /// <param name="message">Words for the person who started the program.</param>
    public EmbeddedPostgresException(string message)
        : base(message)
    {
    }

    /// <summary>Says why, and what to do, and keeps the cause.</summary>
    /// <param name="message">Words for the person who started the program.</param>
    /// <param name="innerException">The cause.</param>
    public EmbeddedPostgresException(string message, Exception? innerException)
        : base(message, innerException)
    {
    }
}
