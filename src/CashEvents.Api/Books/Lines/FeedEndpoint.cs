using System.Globalization;
using System.Net.Mime;
using System.Text.Json;

namespace CashEvents.Api.Books;

/// <summary>The book's lines as they are written (Server-sent events, WHATWG HTML standard).</summary>
internal sealed class FeedEndpoint : IEndpoints
{
    private const int MostAtOnce = 100;

    // Another server on the same database tells nobody here.
    private static readonly TimeSpan _looksEvery = TimeSpan.FromSeconds(1);

    // Those between give up on who is silent.
    private static readonly TimeSpan _silentFor = TimeSpan.FromSeconds(15);

    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/feed", (HttpContext http, Caller caller, Feed feed) =>
        {
            Reads.OnlyTakes(http);
            return feed.SendAsync(http, caller,
                Reads.Number(http.Request.Headers["Last-Event-ID"].FirstOrDefault(), "Last-Event-ID", Reads.AfterLine));
        })
        .ExcludeFromDescription();

    /// <summary>Sends lines for as long as somebody listens.</summary>
    internal sealed class Feed(NewLines newLines, LineReader lines, BookReader books, KeyRing keys,
        IHostApplicationLifetime program, TimeProvider clock)
    {
        public async Task SendAsync(HttpContext http, Caller caller, long after)
        {
            using var over = CancellationTokenSource.CreateLinkedTokenSource(http.RequestAborted,
                program.ApplicationStopping);
            http.Response.ContentType = MediaTypeNames.Text.EventStream;
            // Who listens for the first time knows the book already.
            var last = after > 0 ? after
                : (await books.ReadAsync(caller.Household, over.Token).ConfigureAwait(false)).Line;
            try
            {
                await SayAsync(http, ": \n\n", over.Token).ConfigureAwait(false);
                var saidAt = clock.GetTimestamp();
                while (await MayListenAsync(caller, over.Token).ConfigureAwait(false))
                {
                    var next = newLines.NextAsync(caller.Household);
                    var written = await lines.ReadAsync(caller.Household, new LineFilter(last, MostAtOnce), over.Token)
                        .ConfigureAwait(false);
                    if (written.Count > 0)
                    {
                        last = written[^1].Number;
                        await SendAsync(http, caller, written, over.Token).ConfigureAwait(false);
                        saidAt = clock.GetTimestamp();
                        continue;
                    }

                    if (clock.GetElapsedTime(saidAt) >= _silentFor)
                    {
                        await SayAsync(http, ": \n\n", over.Token).ConfigureAwait(false);
                        saidAt = clock.GetTimestamp();
                    }

                    await Task.WhenAny(next, Task.Delay(_looksEvery, over.Token)).ConfigureAwait(false);
                }
            }
            catch (OperationCanceledException) when (over.IsCancellationRequested)
            {
                // Nobody listens any more, or the program stops: who still does asks again.
            }
        }

        private async Task SendAsync(HttpContext http, Caller caller, IReadOnlyList<BookLine> written,
            CancellationToken over)
        {
            var book = await books.ReadAsync(caller.Household, over).ConfigureAwait(false);
            foreach (var line in written)
            {
                var said = JsonSerializer.Serialize(LineAnswer.Of(line, book), ApiJson.Options);
                await SayAsync(http, string.Create(CultureInfo.InvariantCulture,
                    $"id: {line.Number}\nevent: line\ndata: {said}\n\n"), over).ConfigureAwait(false);
            }
        }

        private async ValueTask<bool> MayListenAsync(Caller caller, CancellationToken over) =>
            await keys.FindByHashAsync(caller.Key.Hash, over).ConfigureAwait(false) is { } holder
                && holder.Key.OverAt(clock.GetUtcNow()) is null;

        private static async Task SayAsync(HttpContext http, string said, CancellationToken over)
        {
            await http.Response.WriteAsync(said, over).ConfigureAwait(false);
            await http.Response.Body.FlushAsync(over).ConfigureAwait(false);
        }
    }
}
