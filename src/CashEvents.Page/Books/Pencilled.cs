using System.Text.Json;
using System.Text.Json.Nodes;

namespace CashEvents.Page.Books;

/// <summary>What can be written on a phone.</summary>
public enum Writing
{
    Spend,
    Refund,
    Fill,
    Transfer,
    Count,
    Settlement,
    Reversal,
    Amendment,
}

/// <summary>
/// What was written here and the book has not confirmed yet. It is kept until the server says that it stands in the
/// book, and sent under the same key however often.
/// </summary>
public sealed record Pencilled
{
    /// <summary>Its idempotency key. The time stands in it first, so that what is kept is kept in order.</summary>
    public required string Id { get; init; }

    /// <summary>In whose book.</summary>
    public required string Household { get; init; }

    /// <summary>When.</summary>
    public required DateTimeOffset At { get; init; }

    /// <summary>What it is.</summary>
    public required Writing Kind { get; init; }

    /// <summary>The compartment; where it comes from, for a transfer.</summary>
    public string Compartment { get; init; } = "";

    /// <summary>Cash or bank.</summary>
    public Holding Holding { get; init; }

    /// <summary>How much, in major units.</summary>
    public decimal Amount { get; init; }

    /// <summary>The day on which it happened.</summary>
    public DateOnly OccurredOn { get; init; }

    /// <summary>What was written beside it.</summary>
    public string Description { get; init; } = "";

    /// <summary>From where the rest comes.</summary>
    public string? RestFrom { get; init; }

    /// <summary>Where a transfer goes.</summary>
    public string? To { get; init; }

    /// <summary>Cash or bank, where a transfer goes.</summary>
    public Holding ToHolding { get; init; }

    /// <summary>The line that is reversed or amended; the count that is settled.</summary>
    public long? Line { get; init; }

    /// <summary>Why it is.</summary>
    public string? Reason { get; init; }

    /// <summary>What stands in the stead of a line that is amended.</summary>
    public Pencilled? Instead { get; init; }

    /// <summary>What was counted, by face value.</summary>
    public IReadOnlyDictionary<string, long>? Pieces { get; init; }

    /// <summary>Who counted too.</summary>
    public string? Witness { get; init; }

    /// <summary>Whether notes that somebody carries are meant.</summary>
    public bool? Carried { get; init; }

    /// <summary>Whether it was sent and no answer came: it may stand in the book.</summary>
    public bool Tried { get; init; }

    /// <summary>The lines that it wrote, by the server's answer.</summary>
    public IReadOnlyList<long>? Lines { get; init; }

    /// <summary>Why the server sent it back; null while it did not.</summary>
    public Problem? CameBack { get; init; }

    /// <summary>Whether it may be sent with others.</summary>
    public bool GoesInBatches => Kind is not (Writing.Reversal or Writing.Amendment);

    /// <summary>What it asks the book for.</summary>
    /// <param name="written">What a line of the book says.</param>
    public ICommand Command(Func<long, IBookEvent> written) => Kind switch
    {
        Writing.Spend => new RecordSpend(Compartment, Holding, Amount, OccurredOn, Description, RestFrom)
        { Hands = new Hands(Carried: Carried) },
        Writing.Refund => new RecordRefund(Compartment, Holding, Amount, OccurredOn, Description)
        { Hands = new Hands(Carried: Carried) },
        Writing.Fill => new RecordFill(Compartment, Holding, Amount, OccurredOn, Description),
        Writing.Transfer => new RecordTransfer(new(Compartment, Holding), new(To!, ToHolding), Amount, OccurredOn,
            Description)
        { Hands = new Hands(Carried: Carried) },
        Writing.Count => new RecordCount(Compartment, Holding, Pieces is null ? Amount : null, Pieces, OccurredOn,
            Witness, Description)
        { Hands = new Hands(Carried: Carried) },
        Writing.Settlement => new SettleCount(Line!.Value, Reason!, OccurredOn),
        Writing.Reversal => new ReverseLine(Line!.Value, written(Line.Value), Reason!),
        _ => new AmendLine(Line!.Value, written(Line.Value), Instead!.Command(written), Reason!),
    };

    /// <summary>The address that takes it by itself.</summary>
    public string Address => Kind switch
    {
        Writing.Spend => "api/spends",
        Writing.Refund => "api/refunds",
        Writing.Fill => "api/fills",
        Writing.Transfer => "api/transfers",
        Writing.Count => "api/counts",
        Writing.Settlement => FormattableString.Invariant($"api/counts/{Line}/settlement"),
        Writing.Reversal => FormattableString.Invariant($"api/lines/{Line}/reversal"),
        _ => FormattableString.Invariant($"api/lines/{Line}/amendment"),
    };

    /// <summary>What is sent.</summary>
    /// <param name="inBatch">With its kind and key, as one of several.</param>
    public JsonObject Request(bool inBatch)
    {
        var sent = new JsonObject();
        if (inBatch)
        {
            sent["kind"] = JsonNamingPolicy.CamelCase.ConvertName(Kind.ToString());
            sent["idempotencyKey"] = Id;
        }

        switch (Kind)
        {
            case Writing.Reversal:
                sent["reason"] = Reason;
                return sent;
            case Writing.Amendment:
                var replacement = Instead!.Request(inBatch: true);
                replacement.Remove("idempotencyKey");
                return new JsonObject { ["reason"] = Reason, ["replacement"] = replacement };
            case Writing.Settlement:
                if (inBatch)
                {
                    sent["count"] = Line;
                }

                sent["reason"] = Reason;
                sent["occurredOn"] = Written(OccurredOn);
                return sent;
        }

        if (Kind == Writing.Transfer)
        {
            sent["from"] = Place(Compartment, Holding);
            sent["to"] = Place(To!, ToHolding);
        }
        else
        {
            sent["compartment"] = Compartment;
            sent["holding"] = Word(Holding);
        }

        if (Kind == Writing.Count)
        {
            sent[Pieces is null ? "total" : "denominations"] = Pieces is null ? Amount
                : new JsonObject(Pieces.Select(p => KeyValuePair.Create(p.Key, (JsonNode?)p.Value)));
            sent["witness"] = string.IsNullOrEmpty(Witness) ? null : Witness;
        }
        else
        {
            sent["amount"] = Amount;
        }

        sent["occurredOn"] = Written(OccurredOn);
        sent["description"] = Description;
        foreach (var (name, value) in new (string, JsonNode?)[] { ("restFrom", RestFrom), ("carried", Carried) })
        {
            if (value is not null)
            {
                sent[name] = value;
            }
        }

        return sent;
    }

    private static JsonObject Place(string compartment, Holding holding) =>
        new() { ["compartment"] = compartment, ["holding"] = Word(holding) };

    private static string Word(Holding holding) => holding == Holding.Cash ? "cash" : "bank";

    private static string Written(DateOnly day) => day.ToString("O");
}

/// <summary>Why something was refused (RFC 9457), as far as the page tells it.</summary>
public sealed record Problem
{
    /// <summary>Stable, such as <c>not-enough</c>.</summary>
    public string Code { get; init; } = "";

    /// <summary>What is the matter.</summary>
    public string Detail { get; init; } = "";

    /// <summary>What is there and who could give what is missing, in major units.</summary>
    public ShortOf? Shortage { get; init; }

    /// <summary>A refusal of this phone's own.</summary>
    public static Problem Of(Refusal refusal, Currency? currency) => new()
    {
        Code = refusal.Code,
        Detail = refusal.Detail,
        Shortage = refusal.Shortage is { } s && currency is not null
            ? new ShortOf(currency.ToDecimal(s.Available), currency.ToDecimal(s.Missing), s.On,
                [.. s.CouldGive.Select(g => new CouldGive(g.Compartment, currency.ToDecimal(g.Available)))])
            : null,
    };
}

/// <summary>Too little money.</summary>
public sealed record ShortOf(decimal Available, decimal Missing, DateOnly On, IReadOnlyList<CouldGive> CouldGive);

/// <summary>A compartment that could give what is missing.</summary>
public sealed record CouldGive(string Compartment, decimal Available);
