using System.Text.Json;

namespace CashEvents.Api.Hosting;

/// <summary>Settings in a file, for a program that runs as a service. The environment goes before them.</summary>
internal static class SettingsFile
{
    /// <summary>Names the file.</summary>
    public const string Variable = "CASHEVENTS_SETTINGS";

    /// <summary>What it is called in the data folder.</summary>
    public const string Usual = "cashevents.json";

    // Sections and settings of ASP.NET Core and .NET that a file may have as well.
    private static readonly string[] _frameworks = ["urls", "Kestrel", "Logging", "AllowedHosts", "OTEL_"];

    /// <summary>
    /// The settings of the file as arguments that ASP.NET Core reads, without those that the environment has.
    /// </summary>
    /// <param name="environment">The environment and the command line.</param>
    /// <exception cref="StartException">The file can't be read, or has a setting that is not known.</exception>
    public static string[] Read(IConfiguration environment)
    {
        var named = environment[Variable]?.Trim();
        var file = string.IsNullOrEmpty(named)
            ? Path.Combine(OwnPostgres.Folder(environment[OwnPostgres.FolderVariable]), Usual)
            : Path.GetFullPath(named);
        if (!File.Exists(file))
        {
            return string.IsNullOrEmpty(named) ? []
                : throw new StartException($"{Variable} names {file}, which is not there.");
        }

        try
        {
            var read = new ConfigurationBuilder().AddJsonFile(file).Build();
            return [.. read.AsEnumerable().Where(setting => setting.Value is not null)
                .Where(setting => environment[Known(setting.Key, file)] is null)
                .Select(setting => $"--{setting.Key}={setting.Value}")];
        }
        catch (Exception failure) when (failure is InvalidDataException or FormatException or JsonException
            or IOException or UnauthorizedAccessException)
        {
            throw new StartException($"{file} can't be read: {(failure.InnerException ?? failure).Message} Write one "
                + $$"""JSON object with a field for each setting, such as {"{{Setting.Log}}": "json"}.""");
        }
    }

    private static string Known(string key, string file)
    {
        if (key is OwnPostgres.FolderVariable or Variable)
        {
            throw new StartException($"{key} tells where this file is, so it can't stand in {file}: set it in the "
                + "environment.");
        }

        if (Setting.All.Any(setting => string.Equals(setting.Key, key, StringComparison.OrdinalIgnoreCase))
            || _frameworks.Any(name => key.StartsWith(name, StringComparison.OrdinalIgnoreCase)))
        {
            return key;
        }

        throw new StartException($"There is no setting {key}, which stands in {file}.{Setting.Instead(key)}");
    }
}
