using System.Text.Json.Nodes;

namespace CashEvents.Page.Books;

/// <summary>What the server told when it was asked, now or earlier.</summary>
/// <param name="Json">What; null where it never did.</param>
/// <param name="At">When, where the server does not answer now.</param>
/// <param name="Refused">Why it is not told.</param>
public sealed record Asked(JsonNode? Json, DateTimeOffset? At = null, Problem? Refused = null);
