using System.Text.Json;

namespace CashEvents.Cash.Writing;

/// <summary>A movement as it was typed: what is sent, and how it is told to people.</summary>
/// <param name="Path">Where it is sent, such as <c>/api/spends</c>.</param>
/// <param name="Body">The request as JSON, with the day on which it happened.</param>
/// <param name="Said">The command, for people.</param>
internal sealed record Movement(string Path, JsonElement Body, string Said);

/// <summary>A movement that waits to be sent, or that the book refused when it was.</summary>
/// <param name="Number">Its number on the list.</param>
/// <param name="IdempotencyKey">The name under which it is sent, however often: it is written once.</param>
/// <param name="Movement">What is sent.</param>
/// <param name="At">When it was typed.</param>
/// <param name="Address">The server that it is meant for.</param>
/// <param name="KeyMark">The key with which it was recorded.</param>
internal sealed record WaitingMovement(int Number, string IdempotencyKey, Movement Movement, DateTimeOffset At,
    string Address, string KeyMark)
{
    /// <summary>Why the book refused it; null while it waits.</summary>
    public string? Refused { get; init; }
}
