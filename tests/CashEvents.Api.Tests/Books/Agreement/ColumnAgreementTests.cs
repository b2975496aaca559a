using Microsoft.Extensions.DependencyInjection;
using Npgsql;
using Xunit;

namespace CashEvents.Api.Tests.Books;

/// <summary>
/// The analysis columns as PostgreSQL adds them up are what adding up the lines one by one gives, over any slices of
/// days.
/// </summary>
public sealed class ColumnAgreementTests(SharedServer shared)
{
    private static readonly DateOnly _earliest = new(2026, 9, 10);

    [Fact]
    public async Task Column_totals_agree_with_the_lines_whatever_the_slices()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var random = new Random(seed);
        var household = await shared.HarbourRowAsync();
        await new GeneratedHistory(household, seed).SendAsync(250);
        var columns = household.Server.Services.GetRequiredService<ColumnReader>();
        var lines = await household.Server.Services.GetRequiredService<LineReader>()
            .ReadAsync(household.Id, new LineFilter(0, int.MaxValue));
        var movements = lines.Select(l => l.Event).OfType<IMovement>().ToList();
        var replayed = await household.Server.Books.ReplayAsync(household.Id);

        for (var i = 0; i < 25; i++)
        {
            var slices = Enumerable.Range(0, random.Next(1, 12)).Select(_ => _earliest.AddDays(random.Next(70)))
                .Distinct().Order().ToList();
            var last = slices[^1].AddDays(random.Next(40));

            var (book, totals) = await columns.ReadAsync(household.Id, slices, last);

            var added = ColumnTotals.Of(movements, slices, last);
            Assert.Equal(replayed.Line, book.Line);
            Assert.Equal(Sorted(added.Openings), Sorted(totals.Openings));
            Assert.Equal(Sorted(added.Changes), Sorted(totals.Changes));
            Assert.All(replayed.Days.Keys, part => Assert.Equal(
                replayed.BalanceOn(part, last),
                totals.Changes.Where(c => c.Place == part)
                    .Aggregate(totals.Openings.GetValueOrDefault(part), (balance, c) => balance + c.Change)));
        }
    }

    [Fact]
    public async Task Weeks_and_their_year_to_date_agree_with_the_lines_whatever_is_asked_for()
    {
        var seed = SameSeedsAttribute.Next();
        TestContext.Current.TestOutputHelper?.WriteLine($"Seed {seed}");
        var random = new Random(seed);
        var household = await shared.HarbourRowAsync();
        var history = new GeneratedHistory(household, seed);
        for (var i = 0; i < 4; i++)
        {
            await history.SendAsync(60);
            var from = new Week(new DateOnly(2026, 8, 31).AddDays(7 * random.Next(12)));
            (await household.Keeper.PutAsync("/api/plan",
                $$"""{"from": "{{from}}", "amounts": {"ferry-fares": {{random.Next(100)}}, "market-days": {{random.Next(100)}}.{{random.Next(10, 100)}} } }""")).MustBe(200);
        }

        var weeks = household.Server.Services.GetRequiredService<WeekReader>();
        var lines = await household.Server.Services.GetRequiredService<LineReader>()
            .ReadAsync(household.Id, new LineFilter(0, int.MaxValue));
        var movements = lines.Select(l => l.Event).OfType<IMovement>().ToList();
        var replayed = await household.Server.Books.ReplayAsync(household.Id);
        var startsOn = Enum.GetValues<DayOfWeek>();

        for (var i = 0; i < 25; i++)
        {
            var day = _earliest.AddDays(random.Next(70));
            var first = Week.Of(day, startsOn[i % 7]);
            var slices = i % 2 == 0
                ? WeekSlice.Of(Month.Of(day), startsOn[i % 7])
                : WeekSlice.Whole(first, new Week(first.First.AddDays(7 * random.Next(5))));

            var read = await weeks.ReadAsync(household.Id, (_, _) => slices, AsOf.Now);

            var added = WeekSheet.Of(
                replayed, slices, ColumnTotals.Of(movements, [.. slices.Select(s => s.First)], slices[^1].Last),
                YearToDate.Spent(movements, YearToDate.Begins(replayed, slices), slices[0].First), read.Today);
            Assert.Equal(added.Select(s => (s.Slice, s.DaysGone)), read.Sheets.Select(s => (s.Slice, s.DaysGone)));
            Assert.Equal(added.SelectMany(s => s.Rows).Select(r => (r.Compartment.Id, r.Figures)),
                read.Sheets.SelectMany(s => s.Rows).Select(r => (r.Compartment.Id, r.Figures)));
        }

        for (var i = 0; i < 25; i++)
        {
            // As of a line, of a day, or of both.
            var atLine = i % 3 == 0 ? default(int?) : random.Next(Household.SetUpLines, lines.Count + 1);
            var first = new Week(new DateOnly(2026, 9, 7).AddDays(7 * random.Next(10)));
            var slices = WeekSlice.Whole(first, new Week(first.First.AddDays(7 * random.Next(5))));
            var on = i % 3 == 1 ? default(DateOnly?) : first.First.AddDays(random.Next(40));

            var read = await weeks.ReadAsync(household.Id, (_, _) => slices, new AsOf(on, atLine));

            var then = await household.Server.Books.ReplayAsync(household.Id, atLine);
            var known = lines.Take(atLine ?? lines.Count).Select(l => l.Event).OfType<IMovement>()
                .Where(m => on is null || m.OccurredOn <= on).ToList();
            var added = WeekSheet.Of(
                then, slices, ColumnTotals.Of(known, [.. slices.Select(s => s.First)], slices[^1].Last),
                YearToDate.Spent(known, YearToDate.Begins(then, slices), slices[0].First), read.Today);
            Assert.Equal(then.Line, read.Book.Line);
            Assert.Equal(on ?? new DateOnly(2026, 11, 15), read.Today);
            Assert.Equal(added.Select(s => (s.Slice, s.DaysGone)), read.Sheets.Select(s => (s.Slice, s.DaysGone)));
            Assert.Equal(added.SelectMany(s => s.Rows).Select(r => (r.Compartment.Id, r.Figures)),
                read.Sheets.SelectMany(s => s.Rows).Select(r => (r.Compartment.Id, r.Figures)));
        }
    }

    [Fact]
    public async Task An_empty_book_has_no_columns()
    {
        var household = await shared.HarbourRowAsync();

        var (book, totals) = await household.Server.Services.GetRequiredService<ColumnReader>()
            .ReadAsync(household.Id, [new DateOnly(2026, 11, 9)], new DateOnly(2026, 11, 15));

        Assert.Equal(Household.SetUpLines, book.Line);
        Assert.Empty(totals.Openings);
        Assert.Empty(totals.Changes);
    }

    // PostgreSQL has an ISO 8601 calendar of its own: to_char's IYYY and IW.
    [Fact]
    public async Task Weeks_are_numbered_as_PostgreSQL_numbers_them_from_1990_to_2060()
    {
        await using var database = NpgsqlDataSource.Create((await shared.ServerAsync()).Database);
        await using var command =
            database.CreateCommand(
                """select day::date, to_char(day, 'IYYY-"W"IW') from generate_series('1990-01-01'::timestamp, '2060-12-31', '1 day') as day""");
        await using var reader = await command.ExecuteReaderAsync();
        var days = 0;
        while (await reader.ReadAsync())
        {
            Assert.Equal(reader.GetString(1), Week.Of(reader.GetFieldValue<DateOnly>(0), DayOfWeek.Monday).ToString());
            days++;
        }

        Assert.Equal(25_933, days);
    }

    private static string Sorted<T>(IEnumerable<T> of) =>
        string.Join('\n', of.Select(x => x!.ToString()).Order(StringComparer.Ordinal));
}
