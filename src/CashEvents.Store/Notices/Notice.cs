namespace CashEvents.Store.Notices;

/// <summary>What a household is told of.</summary>
public enum NoticeKind
{
    /// <summary>A compartment holds less than the household set.</summary>
    CompartmentLow,

    /// <summary>At this pace the money of a week ends before its last day.</summary>
    WeekEndsEarly,

    /// <summary>A bill is not on track.</summary>
    BillNotOnTrack,

    /// <summary>Tomorrow is payday, with what to draw.</summary>
    PaydayTomorrow,

    /// <summary>The program filled a payday.</summary>
    PaydayFilled,

    /// <summary>The program left a payday to the household.</summary>
    PaydayLeft,

    /// <summary>A count, or the bank's statement, disagrees and is not settled.</summary>
    CountDisagrees,

    /// <summary>A wallet was not counted for longer than set.</summary>
    CountOverdue,

    /// <summary>Somebody carries cash for longer than set.</summary>
    CashCarriedLong,

    /// <summary>A month has nothing open and can be closed.</summary>
    MonthCanBeClosed,

    /// <summary>A line does not agree with its hash, or what is kept beside the lines not with them.</summary>
    ChainBroken,

    /// <summary>A backup failed.</summary>
    BackupFailed,

    /// <summary>A webhook's deliveries failed for too long.</summary>
    WebhookParked,
}

/// <summary>Something that holds just now, and that the household is told of.</summary>
/// <param name="Kind">What.</param>
/// <param name="Key">Tells it from others of its kind; not shown.</param>
/// <param name="Title">In a few words.</param>
/// <param name="Detail">In a sentence or two.</param>
public sealed record Noticed(NoticeKind Kind, string Key, string Title, string Detail)
{
    /// <summary>The compartment that it is about; null for none, or several.</summary>
    public string? Compartment { get; init; }

    /// <summary>The day that it is about; null for none.</summary>
    public DateOnly? On { get; init; }
}

/// <summary>A notice that was told.</summary>
/// <param name="Number">Its telling: the household's tellings are numbered one after another.</param>
/// <param name="What">What was noticed.</param>
/// <param name="Since">The instant (UTC) at which it was noticed.</param>
/// <param name="OverNumber">The telling that it is over; null while it is not.</param>
/// <param name="Over">The instant (UTC) at which that was noticed.</param>
public sealed record Notice(long Number, Noticed What, DateTimeOffset Since, long? OverNumber, DateTimeOffset? Over);

/// <summary>Which notices a household wants, and at which level.</summary>
public sealed record NoticeSettings
{
    /// <summary>What is usual until a household says otherwise.</summary>
    public static NoticeSettings Usual { get; } = new();

    /// <summary>Minor units below which a compartment is low, by compartment; cash and bank together.</summary>
    public IReadOnlyDictionary<string, long> Levels { get; init; } = new Dictionary<string, long>();

    /// <summary>Days after which a wallet with cash in it is to be counted again; null for never.</summary>
    public int? CountedWithin { get; init; } = 35;

    /// <summary>Days for which cash may be carried; null for any.</summary>
    public int? CarriedFor { get; init; } = 7;

    /// <summary>Kinds that are not told.</summary>
    public IReadOnlyList<NoticeKind> Silent { get; init; } = [];
}
