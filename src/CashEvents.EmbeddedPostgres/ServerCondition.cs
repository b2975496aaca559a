namespace CashEvents.EmbeddedPostgres;

/// <summary>What the embedded server does.</summary>
public enum ServerState
{
    /// <summary>It takes connections.</summary>
    Running,

    /// <summary>It ended by itself, and is being started again.</summary>
    Starting,

    /// <summary>It ended by itself, and the next start is yet to come.</summary>
    Waiting,

    /// <summary>It ended by itself, and too many starts failed.</summary>
    GivenUp,
}

/// <summary>How the embedded server is.</summary>
/// <param name="State">What it does.</param>
/// <param name="Restarts">How often it was started again since the program started.</param>
/// <param name="FailedStarts">How many starts have failed since it last ran; 0 while it runs.</param>
/// <param name="EndedAt">When it last ended by itself, in UTC; null when it never did.</param>
/// <param name="NextStartAt">When it is started again, in UTC; null unless that is awaited.</param>
public sealed record ServerCondition(ServerState State, int Restarts, int FailedStarts, DateTimeOffset? EndedAt,
    DateTimeOffset? NextStartAt);
