namespace CashEvents.Cash.Hosting;

/// <summary>What the program ends with; scripts go by it, and docs/command-line.md lists it.</summary>
internal static class ExitCode
{
    /// <summary>It is done.</summary>
    public const int Done = 0;

    /// <summary>The book refused it; nothing was written.</summary>
    public const int Refused = 1;

    /// <summary>The command can't be understood; nothing was sent.</summary>
    public const int Usage = 2;

    /// <summary>There is no key, or not one that may do this.</summary>
    public const int Key = 3;

    /// <summary>The server can't be reached, or can't answer now.</summary>
    public const int Unreachable = 4;

    /// <summary>The server can't be reached; the movement is kept and waits to be sent.</summary>
    public const int Waits = 5;

    /// <summary>A file on this machine can't be read or written.</summary>
    public const int Machine = 6;

    /// <summary>It was stopped (Ctrl-C), by the custom of shells 128 and the signal's number.</summary>
    public const int Stopped = 130;
}

/// <summary>The command was not carried out, and this is why.</summary>
/// <param name="exitCode">What the program ends with.</param>
/// <param name="says">For people: what is the matter and the mend.</param>
internal sealed class NotDoneException(int exitCode, string says) : Exception(says)
{
    /// <summary>What the program ends with.</summary>
    public int ExitCode => exitCode;

    /// <summary>What was written can't be understood.</summary>
    public static NotDoneException Usage(string says) => new(Hosting.ExitCode.Usage, says);
}
