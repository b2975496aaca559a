using System.Text.Json;

namespace CashEvents.Api.Http;

/// <summary>A problem answer as the OpenAPI document shows it.</summary>
/// <param name="When">When it is given.</param>
/// <param name="Code">An example of its code.</param>
/// <param name="Detail">And of its words.</param>
/// <param name="Field">The field that the example blames; null where it blames none.</param>
internal sealed record ProblemExample(string When, string Code, string Detail, string? Field = null)
{
    /// <summary>The example as it would be answered.</summary>
    public string Answer(int status) => JsonSerializer.Serialize(
        new Problem(status, Code, Detail)
        {
            Errors = Field is null ? null : new Dictionary<string, string[]> { [Field] = [Detail] },
        },
        ApiJson.Options);

    /// <summary>One for each status.</summary>
    public static IReadOnlyDictionary<int, ProblemExample> ByStatus { get; } = new Dictionary<int, ProblemExample>
    {
        [400] = new("The request can't be read, or its fields do not have the form asked for.",
            "malformed", "There is no field `ammount` here. Did you mean `amount`?", "ammount"),
        [401] = new("No key, or one that is not known here.",
            "key-missing",
            "Send the header `Authorization: Bearer KEY`. The keeper's key was printed at the first start and is kept "
                + "in the data folder."),
        [403] = new("The key is good, but not for this.",
            "not-allowed", "The key 'wall display' has the role viewer, which may read only."),
        [404] = new("There is nothing of that name or number.",
            "compartment-unknown", "There is no compartment 'ferry-fare'."),
        [406] = new("None of the forms that Accept names.",
            "not-acceptable", "This address answers as application/json, and none of that is in `Accept`.", "Accept"),
        [409] = new("The book as it stands forbids it.",
            "not-enough",
            "The cash of 'ferry-fares' holds 6.40 EUR: 2.00 EUR is missing. 'market-days' could give it.", "amount"),
        [412] = new("The book has moved on from the line named in If-Match.",
            "book-moved-on", "The book stands at line 61, not 58: read it again, then decide."),
        [413] = new("The body is larger than 4 MiB.",
            "body-too-large", "The request is too large: split it into several."),
        [415] = new("The body is of another media type than those that are taken, or in a coding that is not.",
            "media-type-unknown", JsonFaults.SendJson),
        [422] = new("The words do not fit this book, or the idempotency key was used for another request.",
            "compartment-unknown", "There is no compartment 'ferry-fare'. Did you mean 'ferry-fares'?", "compartment"),
        [429] = new("Too many wrong keys came from this address: send it again after the time in Retry-After.",
            "too-many-wrong-keys",
            "Too many wrong keys came from this address: wait a second, then send the right one."),
        [503] = new("Too much is waiting, or PostgreSQL does not answer: send it again after the time in Retry-After.",
            "book-busy", "1024 requests are waiting for this book: send the request again in a second."),
    };
}
