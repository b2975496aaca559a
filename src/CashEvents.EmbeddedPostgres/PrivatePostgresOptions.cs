using System.Text.RegularExpressions;

namespace CashEvents.EmbeddedPostgres;

/// <summary>Where and how the embedded PostgreSQL runs.</summary>
public sealed partial record PrivatePostgresOptions
{
    /// <summary>The folder that keeps the cluster; see <see cref="EmbeddedPostgres.DataFolder"/>.</summary>
    public required string DataFolder { get; init; }

    /// <summary>
    /// What the database and its owner are called, and the files in the data folder that only one program may hold. At
    /// most 40 letters <c>a</c> to <c>z</c>, digits, <c>_</c> and <c>-</c>, a letter first, and not <c>pg_</c>. A
    /// cluster keeps the name it was made with.
    /// </summary>
    public string Name { get; init; } = "postgres";

    /// <summary>
    /// How a person gives the program another data folder, in words that a folder follows in the middle of a sentence:
    /// <c>set MY_DATA to</c>.
    /// </summary>
    public string ChooseFolder { get; init; } = "set the program's data folder to";

    /// <summary>What a person does on a machine without a fitting server; told after what was missing.</summary>
    public string WaysToAServer { get; init; } = """
        Install one, as with "apt install postgresql" or "brew install postgresql", or install Node.js with npm, out of which this program unpacks a server by itself.
        """;

    /// <summary>
    /// Whether a commit is on disk before it is answered. Off only for tests, whose data may go with the machine.
    /// </summary>
    public bool Durable { get; init; } = true;

    /// <summary>How many connections the server takes.</summary>
    public int MaxConnections { get; init; } = 100;

    /// <summary>
    /// How long the server may take to become ready. Recovering after a power cut needs a while on a slow disk.
    /// </summary>
    public TimeSpan StartTimeout { get; init; } = TimeSpan.FromMinutes(2);

    /// <summary>How long a server may take to stop before it is stopped less gently.</summary>
    public TimeSpan StopTimeout { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>
    /// How many starts may fail in a row, once the server has ended by itself, before it is given up. At least 1.
    /// </summary>
    public int MostFailedStarts { get; init; } = 10;

    /// <summary>The pause after the first start that failed; each further one is twice as long.</summary>
    public TimeSpan FirstPause { get; init; } = TimeSpan.FromSeconds(0.5);

    /// <summary>No pause between two starts is longer.</summary>
    public TimeSpan LongestPause { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>
    /// Names of the files that the program itself keeps in the data folder, beside those of the server.
    /// </summary>
    public IReadOnlyList<string> OwnFiles { get; init; } = [];

    /// <summary>
    /// The folders to look for the server's binaries in; null for PATH and the places where systems install them.
    /// </summary>
    public IReadOnlyList<string>? BinaryFolders { get; init; }

    /// <summary>
    /// The major version that makes a new cluster; null for the newest that is found. A cluster that is there keeps its
    /// own.
    /// </summary>
    public int? Major { get; init; }

    /// <summary>Where binaries are unpacked; null for a folder in <see cref="DataFolder"/>.</summary>
    public string? UnpackTo { get; init; }

    /// <summary>Whether the binaries may be unpacked with npm when none are installed.</summary>
    public bool UnpackWithNpm { get; init; } = true;

    /// <summary>
    /// The clock that says when the server ended and when it is started again; the machine's if left out.
    /// </summary>
    public TimeProvider Clock { get; init; } = TimeProvider.System;

    internal string LockFile => Name + ".lock";

    internal string ProcessIdFile => Name + ".pid";

    /// <summary>The folder into which binaries are unpacked.</summary>
    public string UnpackFolder => UnpackTo ?? Path.Combine(DataFolder, "postgresql-binaries");

    /// <exception cref="ArgumentException">The name can't be one of a database and of a file.</exception>
    internal PrivatePostgresOptions Checked() => GoodName().IsMatch(Name)
        ? this with { DataFolder = Path.GetFullPath(DataFolder) }
        : throw new ArgumentException($"The name '{Name}' can't be one of a database and of a file: give at most 40 "
            + "letters a to z, digits, _ and -, a letter first, and not pg_.");

    [GeneratedRegex("^(?!pg_)[a-z][a-z0-9_-]{0,39}\\z")]
    private static partial Regex GoodName();
}
