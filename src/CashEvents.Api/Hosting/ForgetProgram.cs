using System.Globalization;

namespace CashEvents.Api.Hosting;

/// <summary>A household that is to be forgotten.</summary>
/// <param name="Household">Its id or its name.</param>
/// <param name="Lines">How many lines its book has; null for who wants to know.</param>
internal sealed record ForgetTask(string Household, long? Lines)
{
    /// <summary>Reads what stands behind <c>forget-household</c>.</summary>
    /// <exception cref="StartException">It can't be read.</exception>
    public static ForgetTask Read(string[] args) => args switch
    {
        [{ Length: > 0 } household] when !household.StartsWith('-') => new(household, null),
        [{ Length: > 0 } household, "--lines", var lines] when !household.StartsWith('-')
            && long.TryParse(lines, NumberStyles.None, CultureInfo.InvariantCulture, out var number) =>
                new(household, number),
        _ => throw new StartException("Name the household to forget: forget-household \"Lighthouse Lane\". It then "
            + "tells how many lines there are, and how to go on."),
    };
}

/// <summary>Forgets a household whose people want to be: its book and all beside it.</summary>
internal static class ForgetProgram
{
    /// <summary>Tells what would be forgotten, or forgets it.</summary>
    /// <returns>0 once it is forgotten, 1 while it is not.</returns>
    /// <exception cref="StartException">There is no such household.</exception>
    public static async Task<int> RunAsync(IServiceProvider services, ForgetTask task, string? backups)
    {
        var all = await services.GetRequiredService<KeyRing>().HouseholdsAsync().ConfigureAwait(false);
        var household = all.FirstOrDefault(h => h == task.Household)
            ?? all.FirstOrDefault(h => h == Slug.From(task.Household))
            ?? throw new StartException($"There is no household '{task.Household}' here. There "
                + (all.Count == 1 ? $"is: {all[0]}." : $"are: {string.Join(", ", all)}."));
        var forgotten = services.GetRequiredService<ForgottenHousehold>();
        if (task.Lines is not { } lines)
        {
            return await TellAsync(forgotten, household, "").ConfigureAwait(false);
        }

        if (await forgotten.ForgetAsync(household, lines).ConfigureAwait(false) == 0)
        {
            return await TellAsync(forgotten, household, $"Nothing was forgotten: it does not have {lines}. ")
                .ConfigureAwait(false);
        }

        Console.WriteLine($"The household '{household}' is forgotten. Every table was looked through: none has "
            + $"anything of it.");
        Console.WriteLine("Backups made before still have it. "
            + (backups is null ? "" : $"Those in {backups} go as newer ones take their place, the last after a year. ")
            + "Delete what is to go sooner.");
        return 0;
    }

    private static async Task<int> TellAsync(ForgottenHousehold forgotten, string household, string before)
    {
        var lines = await forgotten.LinesAsync(household).ConfigureAwait(false);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"""
            {before}The book of '{household}' has {lines} lines. Once forgotten, it can't be brought back: local rules may ask that
            records are kept for years. To keep a copy:
              backup {household}.jsonl.gz --household {household}
            To forget its lines, keys, sign-ins, notices and subscriptions:
              forget-household {household} --lines {lines}
            """));
        return 1;
    }
}
