namespace CashEvents.Store.PostgreSql;

/// <summary>No fitting PostgreSQL server is on this machine; the message names the three ways on.</summary>
public sealed class PostgresNotFoundException : EmbeddedPostgresException
{
    /// <summary>Says that no PostgreSQL was found, and the three ways on.</summary>
    public PostgresNotFoundException()
        : this("No PostgreSQL server was found on this machine.")
    {
    }

    /// <summary>Says what is missing, followed by the three ways on.</summary>
    /// <param name="message">What was looked for and not found.</param>
    public PostgresNotFoundException(string message)
        : this(message, null)
    {
    }

    /// <summary>Says what is missing, followed by the three ways on, and keeps the cause.</summary>
    /// <param name="message">What was looked for and not found.</param>
    /// <param name="innerException">The cause.</param>
    public PostgresNotFoundException(string message, Exception? innerException)
        : base(WithWaysOn(message), innerException)
    {
    }

    private static string WithWaysOn(string message) => $"""
        {message}
        There are three ways on:
          - name a server: set ConnectionStrings__CashEvents, for example to "Host=localhost;Database=cashevents;Username=me;Password=secret"
          - start one in a container: docker compose up
          - install a package: "apt install postgresql", "brew install postgresql", or Node.js with npm, out of which this program unpacks a server by itself
        """;
}
