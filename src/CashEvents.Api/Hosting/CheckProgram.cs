namespace CashEvents.Api.Hosting;

/// <summary>The command <c>check</c>.</summary>
internal static class CheckProgram
{
    /// <summary>Tells how everything is.</summary>
    /// <returns>As monitors know it (Monitoring Plugins' guidelines): 0 where all is well, 1 where something is to be
    /// looked at, 2 where something is wrong.</returns>
    public static async Task<int> RunAsync(IServiceProvider services)
    {
        var found = await services.GetRequiredService<Checkup>().LookAsync(null, CancellationToken.None)
            .ConfigureAwait(false);
        foreach (var check in found)
        {
            Console.WriteLine($"{Spelling.Of(check.State),-6} {check.Name}: {check.Says}");
            if (check.Do is { } mend)
            {
                Console.WriteLine($"       {mend}");
            }
        }

        return (int)found.Max(check => check.State);
    }
}
