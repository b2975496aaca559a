using System.Globalization;

namespace CashEvents.EmbeddedPostgres;

/// <summary>Another program works on the data folder.</summary>
public sealed class DataFolderInUseException : PrivatePostgresException
{
    /// <summary>Says that another program works on the data folder.</summary>
    public DataFolderInUseException()
        : this("Another program works on this data folder.")
    {
    }

    /// <summary>Says it in the given words.</summary>
    /// <param name="message">Words for the person who started the program.</param>
    public DataFolderInUseException(string message)
        : base(message)
    {
    }

    /// <summary>Says it in the given words and keeps the cause.</summary>
    /// <param name="message">Words for the person who started the program.</param>
    /// <param name="innerException">The cause.</param>
    public DataFolderInUseException(string message, Exception? innerException)
        : base(message, innerException)
    {
    }

    internal DataFolderInUseException(PrivatePostgresOptions options, int? processId)
        : this($"Another program{Named(processId)} already works on the data folder {options.DataFolder}. Stop it "
            + $"first, or {options.ChooseFolder} another folder.")
    {
        Folder = options.DataFolder;
        ProcessId = processId;
    }

    /// <summary>The folder both programs want.</summary>
    public string? Folder { get; }

    /// <summary>The process that has it, when known.</summary>
    public int? ProcessId { get; }

    private static string Named(int? processId) =>
        processId is { } id ? string.Create(CultureInfo.InvariantCulture, $" (process {id})") : "";
}
