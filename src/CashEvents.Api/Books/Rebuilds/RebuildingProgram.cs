using System.Globalization;
using Spectre.Console;

namespace CashEvents.Api.Books;

/// <summary>
/// The command <c>rebuild</c>: every book of the database, with a bar that shows how far it has come.
/// </summary>
internal static class RebuildingProgram
{
    /// <summary>Rebuilds every book; the server is started and not yet serving anything that matters.</summary>
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
        foreach (var household in households)
        {
            var finding = await console.Progress()
                .Columns(new TaskDescriptionColumn(), new ProgressBarColumn(), new PercentageColumn(),
                    new RemainingTimeColumn())
                .StartAsync(progress => rebuilder.RebuildAsync(household,
                    new Bar(progress.AddTask(Markup.Escape(household))))).ConfigureAwait(false);
            Tell(console, household, finding);
        }

        return 0;
    }

    private static void Tell(IAnsiConsole console, string household, RebuildFinding finding)
    {
        // Drifts are for programs too: each on a line of its own, however wide the terminal is.
        void Line(string text) => console.Profile.Out.Writer.WriteLine(text);
        if (!finding.Switched)
        {
            Line(string.Create(CultureInfo.InvariantCulture,
                $"{household}: everything kept beside its {finding.Lines} lines is what the lines give."));
            return;
        }

        var isOne = finding.Drifts.Count == 1;
        Line(string.Create(CultureInfo.InvariantCulture,
            $"{household}: {finding.Drifts.Count} {(isOne ? "field" : "fields")} did not say what its {finding.Lines} "
                + $"lines give, and {(isOne ? "was" : "were")} put right:"));
        foreach (var drift in finding.Drifts.Take(100))
        {
            Line($"  {drift.Document} {drift.Key} {drift.Field}: {drift.Kept ?? "nothing"} instead of "
                + $"{drift.Rebuilt ?? "nothing"}");
        }

        if (finding.Drifts.Count > 100)
        {
            Line(string.Create(CultureInfo.InvariantCulture, $"  and {finding.Drifts.Count - 100} more."));
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
