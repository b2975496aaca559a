namespace CashEvents.Store.Notices;

/// <summary>How a webhook stands.</summary>
public enum WebhookState
{
    /// <summary>What is written is sent.</summary>
    Active,

    /// <summary>Nothing is sent: deliveries failed for too long, or the receiver said that it is gone.</summary>
    Parked,
}

/// <summary>What a keeper wants sent, and where to.</summary>
/// <param name="Id">Its id.</param>
/// <param name="Url">Where to.</param>
/// <param name="Kinds">Kinds of line, and <c>notice</c> for notices; all where none is named.</param>
/// <param name="Compartments">Only what is about these; all where none is named.</param>
public sealed record Webhook(string Id, string Url, IReadOnlyList<string> Kinds, IReadOnlyList<string> Compartments)
{
    /// <summary>By which the receiver knows the sender.</summary>
    public required string Secret { get; init; }

    /// <summary>The secret before it, and until when both sign; null where there is none.</summary>
    public string? OldSecret { get; init; }

    /// <summary>Until when the old one signs too.</summary>
    public DateTimeOffset? OldUntil { get; init; }

    /// <summary>The last line that was delivered, or is not wanted.</summary>
    public long Line { get; init; }

    /// <summary>The last telling of a notice likewise.</summary>
    public long Telling { get; init; }

    /// <summary>How it stands.</summary>
    public WebhookState State { get; init; }

    /// <summary>How often the next message was tried in vain.</summary>
    public int Failures { get; init; }

    /// <summary>Since when; null while nothing failed.</summary>
    public DateTimeOffset? FailingSince { get; init; }

    /// <summary>When it is tried again; null for at once.</summary>
    public DateTimeOffset? RetryAt { get; init; }

    /// <summary>The secrets that sign at an instant, the newest first.</summary>
    public IReadOnlyList<string> SecretsAt(DateTimeOffset now) =>
        OldSecret is { } old && now < OldUntil ? [Secret, old] : [Secret];

    /// <summary>Whether a line is wanted.</summary>
    public bool Wants(BookLine line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return (Kinds.Count == 0 || Kinds.Contains(line.Kind)) && WantsAbout(line.Event is IMovement movement
            ? movement.Postings.Select(posting => posting.Place.Compartment) : line.Event.About);
    }

    /// <summary>Whether a notice is wanted.</summary>
    public bool Wants(Notice notice)
    {
        ArgumentNullException.ThrowIfNull(notice);
        return WantsNotices && WantsAbout(notice.What.Compartment is { } about ? [about] : []);
    }

    /// <summary>Whether notices are wanted at all.</summary>
    public bool WantsNotices => Kinds.Count == 0 || Kinds.Contains("notice");

    private bool WantsAbout(IEnumerable<string> compartments) =>
        Compartments.Count == 0 || compartments.Any(Compartments.Contains);
}

/// <summary>A message that was sent, or was to be.</summary>
/// <param name="Id">Its <c>webhook-id</c>, the same each time it is sent.</param>
/// <param name="Kind">A kind of line, or <c>notice</c>.</param>
/// <param name="Number">Number of the line, or of the telling.</param>
/// <param name="Attempts">How often it was sent.</param>
/// <param name="LastAt">The instant (UTC) of the last time.</param>
/// <param name="Status">The status that came back then; null where none did.</param>
/// <param name="Fault">What was the matter then; null where it was taken.</param>
public sealed record Delivery(string Id, string Kind, long Number, int Attempts, DateTimeOffset LastAt, int? Status,
    string? Fault)
{
    /// <summary>Whether it was taken, the last time.</summary>
    public bool IsDelivered => Fault is null;
}
