using System.Globalization;
using Npgsql;
using Spectre.Console;

namespace CashEvents.Api.Books;

/// <summary>
/// The command <c>rebuild</c>: every book of the database, with a bar that shows how far it has come.
/// </summary>
internal static class RebuildingProgram
{
    /// <summary>
    /// Rebuilds every book; the server is started and not yet serving anything that matters. A book that can't be is
    /// told and keeps no other from it.
    /// </summary>
    /// <returns>0, or 1 when one could not be rebuilt.</returns>
    public static async Task<int> RunAsync(IServiceProvider services, IAnsiConsole console)
    {
        var households = await services.GetRequiredService<VerificationReader>().HouseholdsAsync()
            .ConfigureAwait(false);
        if (households.Count == 0)
        {
            throw new StartException("There is no book here to rebuild. See CASHEVENTS_DATA and "
                + "ConnectionStrings__CashEvents.");
        }

        var rebuilder = services.GetRequiredService<Rebuilder>();
        var failed = 0;
        foreach (var household in households)
        {
            try
            {
                Tell(console, household, await RebuildAsync(rebuilder, household, console).ConfigureAwait(false));
            }
#pragma warning disable CA1031 // Whatever a book's lines hold, the next book is rebuilt too.
            catch (Exception failure) when (failure is not NpgsqlException and not TimeoutException)
#pragma warning restore CA1031
            {
                failed = 1;
                Line(console, $"{household}: can't be rebuilt, and nothing was changed in it: {failure.Message} Run "
                    + $"verify, which names the first line that does not fit.");
            }
        }

        return failed;
    }

    private static Task<RebuildFinding> RebuildAsync(Rebuilder rebuilder, string household, IAnsiConsole console) =>
        console.Progress()
            .Columns(new TaskDescriptionColumn(), new ProgressBarColumn(), new PercentageColumn(),
                new RemainingTimeColumn())
            .StartAsync(progress => rebuilder.RebuildAsync(household,
                new Bar(progress.AddTask(Markup.Escape(household)))));

    // Drifts are for programs too: each on a line of its own, however wide the terminal is.
    private static void Line(IAnsiConsole console, string text) => console.Profile.Out.Writer.WriteLine(text);

    private static void Tell(IAnsiConsole console, string household, RebuildFinding finding)
    {
        if (!finding.Switched)
        {
            Line(console, string.Create(CultureInfo.InvariantCulture,
                $"{household}: everything kept beside its {finding.Lines} lines is what the lines give."));
            return;
        }

        var isOne = finding.Drifts.Count == 1;
        Line(console, string.Create(CultureInfo.InvariantCulture,
            $"{household}: {finding.Drifts.Count} {(isOne ? "field" : "fields")} did not say what its {finding.Lines} "
                + $"lines give, and {(isOne ? "was" : "were")} put right:"));
        foreach (var drift in finding.Drifts.Take(100))
        {
            Line(console, $"  {drift.Document} {drift.Key} {drift.Field}: {drift.Kept ?? "nothing"} instead of "
                + $"{drift.Rebuilt ?? "nothing"}");
        }

        if (finding.Drifts.Count > 100)
        {
            Line(console, string.Create(CultureInfo.InvariantCulture, $"  and {finding.Drifts.Count - 100} more."));
        }
    }

    private sealed class Bar(ProgressTask task) : IProgress<RebuildProgress>
    {
        public void Report(RebuildProgress value)
        {
            task.MaxValue = Math.Max(1, value.Of);
            task.Value = value.Lines;
        }
    }
}
