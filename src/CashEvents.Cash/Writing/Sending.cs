using System.Net.Http.Headers;
using System.Text;

namespace CashEvents.Cash.Writing;

/// <summary>What became of a movement that was sent.</summary>
/// <param name="Movement">The movement.</param>
/// <param name="Answer">What the server said, as JSON; null when it refused it.</param>
/// <param name="Problem">Why it was refused.</param>
internal sealed record Sent(WaitingMovement Movement, string? Answer, CashEventsProblemException? Problem);

/// <summary>Sends what waits, in order, each once.</summary>
internal static class Sending
{
    /// <summary>
    /// Sends all that waits for this connection. It stops where the server can't be reached or knows the key no more;
    /// what is left keeps waiting.
    /// </summary>
    /// <returns>Each that was sent, and why it stopped; null when it did not.</returns>
    public static async Task<(IReadOnlyList<Sent> Sent, Exception? Stopped)> SendAsync(Session session, Waiting waiting,
        bool refusedToo = false)
    {
        var sent = new List<Sent>();
        foreach (var movement in waiting.Movements.ToList()
            .Where(movement => IsFor(movement, session.Connection) && (refusedToo || movement.Refused is null)))
        {
            try
            {
                var answer = await SendAsync(session, movement).ConfigureAwait(false);
                waiting.Remove(movement);
                sent.Add(new Sent(movement, answer, null));
            }
            catch (Exception stopped) when (IsNoAnswer(stopped) || IsAboutTheKey(stopped))
            {
                return (sent, stopped);
            }
            catch (CashEventsProblemException refused)
            {
                waiting.Refuse(movement, refused.Detail);
                sent.Add(new Sent(movement, null, refused));
            }
        }

        return (sent, null);
    }

    /// <summary>Whether a movement was recorded through this connection.</summary>
    public static bool IsFor(WaitingMovement movement, Connection connection) =>
        movement.Address == connection.Address.ToString() && movement.KeyMark == connection.KeyMark;

    /// <summary>
    /// Whether the book's server said nothing of the matter itself: it is away, can't answer now, or something else
    /// answers in its place. It may be sent again later.
    /// </summary>
    public static bool IsNoAnswer(Exception fault) => fault is HttpRequestException or IOException
        or CashEventsProblemException { Status: >= 500 } or CashEventsProblemException { Code: "" };

    private static bool IsAboutTheKey(Exception fault) => fault is CashEventsProblemException { Status: 401 or 429 };

    private static async Task<string> SendAsync(Session session, WaitingMovement movement)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, movement.Movement.Path)
        {
            Content = new StringContent(movement.Movement.Body.GetRawText(), Encoding.UTF8,
                new MediaTypeHeaderValue("application/json")),
            Headers = { { "Accept", "application/json" }, { "Idempotency-Key", movement.IdempotencyKey } },
        };
        using var answer = await session.Client.Http.SendAsync(request, session.Stop).ConfigureAwait(false);
        return await answer.Content.ReadAsStringAsync(session.Stop).ConfigureAwait(false);
    }
}
