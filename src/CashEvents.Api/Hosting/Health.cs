using Microsoft.AspNetCore.Mvc;
using Npgsql;

namespace CashEvents.Api.Hosting;

/// <summary>How the program is.</summary>
/// <param name="Status"><c>live</c> or <c>ready</c>.</param>
/// <param name="Postgres">How its private PostgreSQL is, once that has ended by itself; left out before, and where
/// another PostgreSQL is used.</param>
public sealed record HealthAnswer(string Status, PostgresAnswer? Postgres = null);

/// <summary>How the private PostgreSQL is, that ended by itself.</summary>
/// <param name="State">What it does.</param>
/// <param name="Restarts">How often it was started again since the program started.</param>
/// <param name="FailedStarts">How many starts have failed since it last ran.</param>
/// <param name="EndedAt">When it last ended by itself, in UTC.</param>
/// <param name="NextStartAt">When it is started again, in UTC; left out unless that is awaited.</param>
public sealed record PostgresAnswer(ServerState State, int Restarts, int FailedStarts, DateTimeOffset EndedAt,
    DateTimeOffset? NextStartAt)
{
    /// <summary>Null when it never ended.</summary>
    internal static PostgresAnswer? Of(ServerCondition? condition) => condition is { EndedAt: { } ended }
        ? new PostgresAnswer(condition.State, condition.Restarts, condition.FailedStarts, ended, condition.NextStartAt)
        : null;
}

/// <summary>How everything is.</summary>
/// <param name="State">The worst of the checks.</param>
/// <param name="Checks">What was looked at.</param>
public sealed record HealthDetailAnswer(CheckState State, IReadOnlyList<CheckAnswer> Checks);

/// <summary>Whether the program lives, and whether it can serve; no key is needed.</summary>
internal static class Health
{
    /// <summary>Where a keeper asks how everything is.</summary>
    public const string Detail = "/health/detail";

    public static void MapHealth(this IEndpointRouteBuilder app)
    {
        app.MapGet("/health/live",
            ([FromServices] PrivatePostgres? postgres) =>
                TypedResults.Ok(new HealthAnswer("live", PostgresAnswer.Of(postgres?.Condition))))
            .Produces<HealthAnswer>()
            .NeedsNoKey()
            .WithSummary("Whether the program runs")
            .WithExample(null, """{"status": "live"}""");

        app.MapGet("/health/ready", ReadyAsync)
            .Produces<HealthAnswer>()
            .NeedsNoKey()
            .RefusesWith(StatusCodes.Status503ServiceUnavailable)
            .WithSummary("Whether it can serve: its PostgreSQL answers")
            .WithExample(null, """{"status": "ready"}""");

        app.MapDetail();
    }

    private static void MapDetail(this IEndpointRouteBuilder app) => app
        .MapGet(Detail, async (Caller caller, Checkup checkup, HttpContext context) =>
        {
            caller.MustKeep();
            var found = await checkup.LookAsync(caller.Household, context.RequestAborted).ConfigureAwait(false);
            return TypedResults.Ok(new HealthDetailAnswer(found.Max(check => check.State), found));
        })
        .IsHeavy()
        .Produces<HealthDetailAnswer>()
        .HasNoTag()
        .RefusesReads(StatusCodes.Status403Forbidden)
        .WithSummary("Whether everything is well, for a keeper: database, disk, clock, book, keys, backups")
        .WithDescription("What the command `check` tells. It walks the whole book, so ask once a day and not each "
            + "minute.")
        .WithExample(null, """
            {"state": "look", "checks": [{"name": "backups", "state": "look", "says": "The program makes no backups by itself.", "do": "Set CASHEVENTS_BACKUPS to a folder, best on another disk."}]}
            """);

    private static async Task<IResult> ReadyAsync(NpgsqlDataSource database, [FromServices] PrivatePostgres? postgres,
        HttpContext context)
    {
        if (postgres?.Condition is { State: not ServerState.Running } condition)
        {
            context.Response.Headers.RetryAfter = "1";
            return Problems.Of(StatusCodes.Status503ServiceUnavailable, "storage-failed", Say(condition));
        }

        await using var command = database.CreateCommand("select 1");
        await command.ExecuteScalarAsync(context.RequestAborted).ConfigureAwait(false);
        return TypedResults.Ok(new HealthAnswer("ready", PostgresAnswer.Of(postgres?.Condition)));
    }

    private static string Say(ServerCondition condition)
    {
        var failed = condition.FailedStarts switch
        {
            0 => "",
            1 => " One start failed.",
            var starts => FormattableString.Invariant($" {starts} starts failed."),
        };
        var next = condition.State switch
        {
            ServerState.GivenUp => "The program ends; its log says why.",
            ServerState.Waiting => FormattableString.Invariant(
                $"It is started again at {condition.NextStartAt:yyyy-MM-dd'T'HH:mm:ss'Z'}."),
            _ => "It is being started again.",
        };
        return FormattableString.Invariant(
            $"PostgreSQL ended by itself at {condition.EndedAt:yyyy-MM-dd'T'HH:mm:ss'Z'}.{failed} {next}");
    }
}
