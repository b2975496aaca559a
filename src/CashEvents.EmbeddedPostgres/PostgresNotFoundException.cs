namespace CashEvents.EmbeddedPostgres;

/// <summary>No fitting PostgreSQL server is on this machine; the message names the ways on.</summary>
public sealed class PostgresNotFoundException : PrivatePostgresException
{
    /// <summary>Says that no PostgreSQL was found.</summary>
    public PostgresNotFoundException()
        : this("No PostgreSQL server was found on this machine.")
    {
    }

    /// <summary>Says what is missing, and the ways on.</summary>
    /// <param name="message">What was looked for and not found, and what to do.</param>
    public PostgresNotFoundException(string message)
        : base(message)
    {
    }

    /// <summary>Says what is missing and the ways on, and keeps the cause.</summary>
    /// <param name="message">What was looked for and not found, and what to do.</param>
    /// <param name="innerException">The cause.</param>
    public PostgresNotFoundException(string message, Exception? innerException)
        : base(message, innerException)
    {
    }
}
