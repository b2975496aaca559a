namespace CashEvents.EmbeddedPostgres;

/// <summary>The embedded PostgreSQL can't be used; the message tells the person why and what to do.</summary>
public class PrivatePostgresException : Exception
{
    /// <summary>Says only that the embedded PostgreSQL can't be used.</summary>
    public PrivatePostgresException()
        : this("The embedded PostgreSQL can't be used.")
    {
    }

    /// <summary>Says why, and what to do.</summary>
    /// <param name="message">Words for the person who started the program.</param>
    public PrivatePostgresException(string message)
        : base(message)
    {
    }

    /// <summary>Says why, and what to do, and keeps the cause.</summary>
    /// <param name="message">Words for the person who started the program.</param>
    /// <param name="innerException">The cause.</param>
    public PrivatePostgresException(string message, Exception? innerException)
        : base(message, innerException)
    {
    }
}
