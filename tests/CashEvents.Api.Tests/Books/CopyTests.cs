using System.Text.Json;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// What the household's page takes along: a copy on which it decides as the book does, and the lines since.
/// </summary>
public sealed class CopyTests(SharedServer shared)
{
    [Fact]
    public async Task A_copy_says_of_each_day_and_line_that_it_has_what_the_book_says_and_tells_no_key()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var reply = (await household.Keeper.GetAsync("/api/copy")).MustBe(200);
        var copy = CopyIn(reply);
        var book = await (await shared.ServerAsync()).Books.ReadWholeAsync(household.Id);

        Assert.Equal(book.Line, copy.Book.Line);
        Assert.Equal(book.Compartments.OrderBy(c => c.Key), copy.Book.Compartments.OrderBy(c => c.Key));
        Assert.NotEmpty(copy.Lines);
        Assert.All(book.Days.Keys, at => Assert.All(Enumerable.Range(0, 60).Select(copy.From.Day.AddDays), day =>
        {
            Assert.Equal(book.Available(at, day), copy.Book.Available(at, day));
            Assert.Equal(book.BalanceOn(at, day.AddDays(-1)), copy.Book.BalanceOn(at, day.AddDays(-1)));
            Assert.Equal(book.ExpectedOn(at, day), copy.Book.ExpectedOn(at, day));
        }));
        Assert.All(copy.Lines, line =>
        {
            Assert.Equal(book.Corrections.By(line.Number), copy.Book.Corrections.By(line.Number));
            Assert.Equal(book.Corrections.Origin(line.Number), copy.Book.Corrections.Origin(line.Number));
        });
        Assert.All(book.Keys.Values, key => Assert.DoesNotContain(key.Hash, reply.Text, StringComparison.Ordinal));
    }

    [Fact]
    public async Task The_lines_since_lead_to_the_book_as_it_stands()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("market-days", "100.00");
        var copy = CopyIn((await household.Keeper.GetAsync("/api/copy")).MustBe(200));
        await household.SpendAsync("market-days", "9.60");
        (await household.Keeper.PostAsync($"/api/lines/{await household.LineAsync()}/reversal",
            """{"reason": "Twice"}""")).MustBe(201);

        var since = (await household.Keeper.GetAsync($"/api/copy?after={copy.Book.Line}&hash={copy.Hash}")).MustBe(200);

        Assert.False(since.Json.TryGetProperty("copy", out _));
        var lines = since.Json.GetProperty("lines").Deserialize<BookLine[]>(BookJson.OfCopies)!;
        var now = copy.With(lines, since.Json.GetProperty("hash").GetString());
        Assert.Equal(JsonSerializer.Serialize(CopyIn((await household.Keeper.GetAsync("/api/copy")).MustBe(200)),
            BookJson.OfCopies), JsonSerializer.Serialize(now, BookJson.OfCopies));
    }

    [Fact]
    public async Task A_copy_that_was_read_before_says_the_same_when_it_is_read_by_and_by()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var told = (await household.Keeper.GetAsync("/api/copy")).MustBe(200).Json.GetProperty("copy");

        var copy = told.Deserialize<BookCopy>(BookJson.OfCopiesReadBefore)!;

        Assert.Equal(JsonSerializer.Serialize(told.Deserialize<BookCopy>(BookJson.OfCopies), BookJson.OfCopies),
            JsonSerializer.Serialize(copy, BookJson.OfCopies));
    }

    [Fact]
    public async Task Who_knows_another_history_gets_a_new_copy()
    {
        var household = await shared.HarbourRowAsync();
        var line = await household.LineAsync();

        foreach (var known in new[] { line, line + 5 })
        {
            var reply = await household.Keeper.GetAsync($"/api/copy?after={known}&hash=0000");
            Assert.Equal(line, CopyIn(reply.MustBe(200)).Book.Line);
        }
    }

    private static BookCopy CopyIn(Reply reply) =>
        reply.Json.GetProperty("copy").Deserialize<BookCopy>(BookJson.OfCopies)!;
}
