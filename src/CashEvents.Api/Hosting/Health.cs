using CashEvents.Api.Documentation;
using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>How the program is.</summary>
/// <param name="Status"><c>live</c> or <c>ready</c>.</param>
public sealed record HealthAnswer(string Status);

/// <summary>Whether the program lives, and whether it can serve; no key is needed.</summary>
internal static class Health
{
    public static void MapHealth(this IEndpointRouteBuilder app)
    {
        app.MapGet("/health/live", () => TypedResults.Ok(new HealthAnswer("live")))
            .Produces<HealthAnswer>()
            .WithTags("Health")
            .WithSummary("Whether the program lives")
            .WithExample(null, """{"status": "live"}""");

        app.MapGet("/health/ready", async (NpgsqlDataSource database, CancellationToken cancellation) =>
            {
                await using var command = database.CreateCommand("select 1");
                await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false);
                return TypedResults.Ok(new HealthAnswer("ready"));
            })
            .Produces<HealthAnswer>()
            .RefusesWith(StatusCodes.Status503ServiceUnavailable)
            .WithTags("Health")
            .WithSummary("Whether it can serve: its PostgreSQL answers")
            .WithExample(null, """{"status": "ready"}""");
    }
}
