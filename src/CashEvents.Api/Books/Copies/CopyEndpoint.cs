using System.Net.Mime;
using System.Text.Json;
using Microsoft.AspNetCore.Http.HttpResults;

namespace CashEvents.Api.Books;

/// <summary>
/// What the household's page takes along: a copy of the book, or the lines since the one it has. Its form follows the
/// program, as that of the stored lines does.
/// </summary>
/// <param name="Household">Whose book it is.</param>
/// <param name="Name">Name of the sender's key.</param>
/// <param name="Role">Its role.</param>
/// <param name="Now">The server's clock.</param>
/// <param name="Program">Version of the program.</param>
/// <param name="Line">The last line that it brings the sender to.</param>
internal sealed record CopyAnswer(string Household, string Name, Role Role, DateTimeOffset Now, string Program,
    long Line)
{
    /// <summary>A whole copy; null where lines will do.</summary>
    public BookCopy? Copy { get; init; }

    /// <summary>The lines since.</summary>
    public IReadOnlyList<BookLine>? Lines { get; init; }

    /// <summary>Hash of the last of them.</summary>
    public string? Hash { get; init; }
}

internal sealed class CopyEndpoint : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/copy", async (HttpContext http, Caller caller, string? after, string? hash, CopyReader copies,
            BookReader books, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http, "after", "hash");
            var (now, known) = (clock.GetUtcNow(), Reads.Number(after, "after", Reads.AfterLine));
            var told = new CopyAnswer(caller.Household, caller.Name, caller.Key.Role, now, ProgramVersion.Text, known);
            var since = known == 0 || hash is null ? null
                : await copies.ReadAfterAsync(caller.Household, known, hash, http.RequestAborted)
                    .ConfigureAwait(false);
            if (since is { Count: <= CopyReader.MostLines })
            {
                return Answer(told with
                {
                    Line = since is [.., var last] ? last.Number : known,
                    Lines = since,
                    Hash = since is [.., var latest] ? latest.Hash : hash,
                });
            }

            var household = (await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false))
                .Household!;
            var copy = await copies.ReadAsync(caller.Household, household.DateAt(now), http.RequestAborted)
                .ConfigureAwait(false);
            return Answer(told with { Line = copy.Book.Line, Copy = copy, Hash = copy.Hash });
        })
        // It is the page's own, and not for programs of others: they have the lines.
        .ExcludeFromDescription();

    private static FileContentHttpResult Answer(CopyAnswer told) =>
        TypedResults.Bytes(JsonSerializer.SerializeToUtf8Bytes(told, BookJson.OfCopies),
            MediaTypeNames.Application.Json);
}
