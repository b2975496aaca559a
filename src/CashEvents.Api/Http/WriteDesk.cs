using System.Collections.Immutable;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;

namespace CashEvents.Api.Http;

/// <summary>
/// Hands what a request asks for to the book's writer, with the headers that go with it: <c>Idempotency-Key</c>,
/// <c>If-Match</c> and <c>ETag</c>.
/// </summary>
internal sealed class WriteDesk(BookWriter writer, KeyRing keys)
{
    private const int LongestIdempotencyKey = 200;

    /// <summary>Writes one command and answers with what it wrote.</summary>
    /// <param name="http">The request.</param>
    /// <param name="command">What to write.</param>
    /// <param name="what">Names the kind of request, so that one idempotency key can't stand for two kinds.</param>
    /// <param name="sent">What was sent, so that it can't stand for two contents.</param>
    /// <param name="idempotencyKey">The key sent in the body, if the header has none.</param>
    /// <exception cref="RefusedException">The book refuses.</exception>
    public async Task<(Entry Entry, Currency? Currency)> WriteAsync(HttpContext http, ICommand command, string what,
        object sent, string? idempotencyKey = null)
    {
        var headerKey = HeaderKey(http);
        var request = new EntryRequest(command, headerKey ?? BodyKey(idempotencyKey, "idempotencyKey"));
        var result = await WriteAsync(http, [Named(request, what, sent)], together: true).ConfigureAwait(false);
        var (entry, refusal) = result.Outcomes[0];
        if (entry is null)
        {
            throw new RefusedException(
                refusal!.Code == EntryRequest.KeyReused && headerKey is not null
                    ? refusal with { Field = "Idempotency-Key" }
                    : refusal, result.Book.Household?.Currency);
        }

        Answers.StampLine(http, entry.BookLine);
        return (entry, entry.CurrencyThen(result.Book));
    }

    /// <summary>Writes several commands, together or each on its own.</summary>
    public async Task<WriteResult> WriteAsync(HttpContext http, IReadOnlyList<EntryRequest> entries, bool together)
    {
        var caller = Caller.Of(http);
        var result = await writer.WriteAsync(
            new WriteRequest(caller.Household, caller.Name, [.. entries], together, IfLines(http), caller.Key.Hash))
            .ConfigureAwait(false);
        if (result.Outcomes.Select(o => o.Refusal).FirstOrDefault(r => r?.Sort == RefusalSort.Stranger) is { } stranger)
        {
            keys.Forget();
            throw new RefusedException(stranger, null);
        }

        if (entries.Any(e => e.Command is RevokeKey))
        {
            keys.Forget();
        }

        return result;
    }

    /// <summary>The request with the fingerprint of what was sent, where it has an idempotency key.</summary>
    public static EntryRequest Named(EntryRequest request, string what, object sent) => request.IdempotencyKey is null
        ? request
        : request with
        {
            Fingerprint =
            SHA256.HashData([.. Encoding.UTF8.GetBytes(what), 0,
                .. JsonSerializer.SerializeToUtf8Bytes(sent, sent.GetType(), ApiJson.Options)])
        };

    /// <summary>An idempotency key sent in a body.</summary>
    public static string? BodyKey(string? written, string field) => written is null ? null
        : written.Length is > 0 and <= LongestIdempotencyKey && written.All(c => c is >= ' ' and <= '~') ? written
        : throw new MalformedException(field,
            $"An idempotency key is 1 to {LongestIdempotencyKey} printable ASCII characters, such as a UUID.");

    // The header is a structured-field string, in quotes; people and scripts leave the quotes out.
    private static string? HeaderKey(HttpContext http)
    {
        var values = http.Request.Headers["Idempotency-Key"];
        if (values.Count == 0)
        {
            return null;
        }

        var written = values.ToString().Trim();
        return BodyKey(written is ['"', .. var inner, '"'] ? inner : written, "Idempotency-Key");
    }

    /// <summary>Refuses a dry run that was asked for at another line than the book's, as the write would be.</summary>
    /// <exception cref="RefusedException">The book has moved on from the line in If-Match.</exception>
    public static void MustStandAsMatched(HttpContext http, Book book)
    {
        Answers.MustMatch(http, book.Line);
    }

    private static ImmutableArray<long>? IfLines(HttpContext http) =>
        http.Request.Headers.IfNoneMatch.Count == 0
            ? Answers.LinesToMatch(http)
            : throw new MalformedException("If-None-Match",
                "If-None-Match is for reading. To write only while nothing else was written, send the ETag that was "
                    + "read as If-Match.");
}
