using System.Net;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace CashEvents.Page.Books;

/// <summary>What the server said.</summary>
/// <param name="Status">The HTTP status; 0 where nobody answered, or none that could say.</param>
/// <param name="Text">The body.</param>
public sealed record Said(int Status, string Text)
{
    private static readonly JsonSerializerOptions _plain = new(JsonSerializerDefaults.Web);

    /// <summary>Nobody answered.</summary>
    public static Said Nothing { get; } = new(0, "");

    /// <summary>Whether it was done.</summary>
    public bool IsDone => Status is >= 200 and < 300;

    /// <summary>Whether it may be different a little later: nobody answered, or they are busy.</summary>
    public bool IsForLater => Status is 0 or (int)HttpStatusCode.TooManyRequests or >= 500;

    /// <summary>Whether this browser is signed in no more.</summary>
    public bool IsSignedOut => Status == (int)HttpStatusCode.Unauthorized;

    /// <summary>The body.</summary>
    public JsonNode Json => JsonNode.Parse(Text)!;

    /// <summary>Why it was refused.</summary>
    public Problem Problem => ProblemIn(Text);

    /// <summary>A problem as it was written.</summary>
    public static Problem ProblemIn(string text)
    {
        try
        {
            return JsonSerializer.Deserialize<Problem>(text, _plain) ?? new Problem();
        }
        catch (JsonException)
        {
            return new Problem();
        }
    }
}

/// <summary>Asks the server of the book.</summary>
public sealed class Server(HttpClient http)
{
    // Who stands in a shop does not wait longer.
    private static readonly TimeSpan _patience = TimeSpan.FromSeconds(20);

    /// <summary>Reads.</summary>
    public Task<Said> GetAsync(string address) => AskAsync(new HttpRequestMessage(HttpMethod.Get, address));

    /// <summary>Sends.</summary>
    /// <param name="address">Where to.</param>
    /// <param name="body">What.</param>
    /// <param name="key">Its idempotency key; null for none.</param>
    /// <param name="method">How; POST if left out.</param>
    public Task<Said> SendAsync(string address, JsonNode? body, string? key = null, HttpMethod? method = null)
    {
        var request = new HttpRequestMessage(method ?? HttpMethod.Post, address);
        if (body is not null)
        {
            request.Content = new StringContent(body.ToJsonString(), Encoding.UTF8, "application/json");
        }

        if (key is not null)
        {
            request.Headers.Add("Idempotency-Key", key);
        }

        return AskAsync(request);
    }

    private async Task<Said> AskAsync(HttpRequestMessage request)
    {
        using (request)
        {
            try
            {
                using var patience = new CancellationTokenSource(_patience);
                using var answer = await http.SendAsync(request, patience.Token);
                return new Said((int)answer.StatusCode, await answer.Content.ReadAsStringAsync(patience.Token));
            }
            catch (Exception away) when (away is HttpRequestException or OperationCanceledException)
            {
                return Said.Nothing;
            }
        }
    }
}
