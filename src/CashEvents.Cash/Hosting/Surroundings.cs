using System.Globalization;

namespace CashEvents.Cash.Hosting;

/// <summary>What the program finds around it; tests bring their own.</summary>
internal sealed record Surroundings
{
    private static readonly string[] _saysTheLocale = ["LC_ALL", "LC_NUMERIC", "LANG"];

    /// <summary>Environment variables.</summary>
    public required Func<string, string?> Variable { get; init; }

    /// <summary>Where it reads a key from.</summary>
    public required TextReader In { get; init; }

    /// <summary>Where what was asked for goes.</summary>
    public required TextWriter Out { get; init; }

    /// <summary>Where remarks and refusals go.</summary>
    public required TextWriter Error { get; init; }

    /// <summary>Whether people look at <see cref="Out"/>; or else another program reads it.</summary>
    public bool IsTerminal { get; init; }

    /// <summary>Whether somebody can type at <see cref="In"/>.</summary>
    public bool IsTyped { get; init; }

    /// <summary>The clock.</summary>
    public TimeProvider Clock { get; init; } = TimeProvider.System;

    /// <summary>What requests go through; null for the network.</summary>
    public Func<HttpMessageHandler?> Network { get; init; } = () => null;

    /// <summary>Those of this process.</summary>
    public static Surroundings OfThisProcess() => new()
    {
        Variable = Environment.GetEnvironmentVariable,
        In = Console.In,
        Out = Console.Out,
        Error = Console.Error,
        IsTerminal = !Console.IsOutputRedirected,
        IsTyped = !Console.IsInputRedirected,
    };

    /// <summary>Where connection and key are kept.</summary>
    public string ConfigurationFolder => Folder("XDG_CONFIG_HOME", ".config");

    /// <summary>Where what waits to be sent is kept.</summary>
    public string StateFolder => Folder("XDG_STATE_HOME", Path.Combine(".local", "state"));

    /// <summary>How numbers are written here: by LC_ALL, LC_NUMERIC or LANG, in this order.</summary>
    public CultureInfo Culture
    {
        get
        {
            var locale = _saysTheLocale.Select(Variable)
                .FirstOrDefault(said => !string.IsNullOrEmpty(said));
            var name = (locale ?? "").Split('.', '@')[0].Replace('_', '-');
            try
            {
                return locale is null && OperatingSystem.IsWindows() ? CultureInfo.CurrentCulture
                    : name is "" or "C" or "POSIX" ? CultureInfo.InvariantCulture
                    : CultureInfo.GetCultureInfo(name);
            }
            catch (CultureNotFoundException)
            {
                return CultureInfo.InvariantCulture;
            }
        }
    }

    private string Folder(string variable, string usual)
    {
        // The base directory specification: a path that is not absolute is to be passed over.
        var named = Variable(variable);
        return Path.Combine(Path.IsPathFullyQualified(named ?? "") ? named!
            : Path.Combine(Variable("HOME") ?? Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), usual),
            "cashevents");
    }
}
