using System.Collections.Concurrent;
using System.Text;
using CsCheck;
using Ical.Net.CalendarComponents;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Xunit;

namespace CashEvents.Api.Tests.Paydays;

/// <summary>
/// The household's calendar as a file by RFC 5545, under its secret address. The day is 15 November 2026; paydays are
/// the last bank days of the months.
/// </summary>
public sealed class CalendarFeedTests(SharedServer shared)
{
    [Fact]
    public async Task It_has_the_days_of_the_paydays_and_of_the_outlook()
    {
        var household = await ReadyAsync();
        var keeper = household.Keeper;

        var events = Read(await CalendarAsync(household, await AddressAsync(household)));

        var paydays = (await keeper.GetAsync("/api/paydays?from=2026-10-01&to=2027-11-15")).MustBe(200).Json
            .GetProperty("paydays").EnumerateArray()
            .Select(p => $"{p.GetProperty("day")} payday.{p.GetProperty("source")}.{p.GetProperty("nominal")}");
        Assert.Equal(paydays.Order(), Days(events, "payday"));
        var filled = (await keeper.GetAsync("/api/outlook")).MustBe(200).Json.GetProperty("stretches").EnumerateArray()
            .Where(s => s.TryGetProperty("payday", out _)).Select(s => s.GetProperty("from").GetString());
        Assert.Equal(filled.Order(), events.Where(e => e.Description?.Contains("To draw") == true)
            .Select(Day).Order());
        // The hull is 120.00, of which 50.00 is there and 40.00 comes on the payday before.
        var hull = Assert.Single(events, e => Id(e) == "bill.hull-once-and-again.2026-12-05");
        Assert.Equal(("2026-12-05", "Hull, once, and again: 120.00 EUR due",
            "50.00 EUR of it is there in Boat insurance. By the outlook 30.00 EUR will be missing."),
            (Day(hull), hull.Summary, hull.Description));
        Assert.Equal(["2026-11-20 1.00", "2026-11-27 2.00"], events.Where(e => e.Categories.Single() == "saving step")
            .Select(e => $"{Day(e)} {e.Summary!.Split(' ')[1]}"));
        Assert.Equal(["2026-10-31", "2026-11-30"], events.Where(e => e.Categories.Single() == "month's end")
            .Select(Day).Take(2));
        // The oilskin wallet was counted on the 10th; the desk drawer never.
        Assert.Equal(["2026-11-15 count.desk-drawer", "2026-12-10 count.oilskin-wallet"], Days(events, "count"));
        Assert.All(events, e => Assert.True(e.IsAllDay));
    }

    [Fact]
    public async Task What_changes_keeps_its_name_and_counts_up_and_the_rest_stays()
    {
        await using var server = await RunningServer.StartAsync();
        var household = await ReadyAsync(await Household.OpenAsync(server));
        var address = await AddressAsync(household);
        var before = await CalendarAsync(household, address);
        var known = await server.Client(null).GetAsync(address, ("If-None-Match", before.ETag!));
        Assert.Equal((304, "", before.ETag), (known.Status, known.Text, known.ETag));

        server.Clock.Advance(TimeSpan.FromHours(3));
        (await household.Keeper.PutAsync("/api/household",
            """{"name": "Harbour Row", "currency": "EUR", "timeZone": "Europe/Dublin", "country": "GB"}""")).MustBe(200);
        var after = await CalendarAsync(household, address);

        Assert.Equal(200, (await server.Client(null).GetAsync(address, ("If-None-Match", before.ETag!))).Status);
        var (old, now) = (Read(before).ToDictionary(e => e.Uid!), Read(after).ToDictionary(e => e.Uid!));
        Assert.Equal(old.Keys.Order(), now.Keys.Order());
        // 31 May 2027 is a bank holiday in Great Britain.
        var moved = old.Keys.Where(uid => Day(old[uid]) != Day(now[uid])
            || old[uid].Description != now[uid].Description).ToList();
        Assert.NotEmpty(moved);
        Assert.All(old.Keys, uid => Assert.Equal(
            moved.Contains(uid) ? (1, "2026-11-15T15:00:00Z") : (0, "2026-11-15T12:00:00Z"),
            (now[uid].Sequence, $"{now[uid].DtStamp!.Value:yyyy-MM-dd'T'HH:mm:ss}Z")));
        Assert.All(now.Values, e => Assert.Equal(e.DtStamp, e.LastModified));
    }

    [Fact]
    public async Task The_address_reads_the_calendar_alone_and_ends_when_it_is_renewed_or_taken_away()
    {
        var household = await ReadyAsync();
        var stranger = household.Server.Client(null);
        (await household.Keeper.GetAsync("/api/calendar-address")).MustBeProblem(404, "calendar-address-missing");
        var first = await AddressAsync(household);
        var secret = first.Split('/', '.')[2];

        (await household.Keeper.GetAsync("/api/calendar-address")).MustBe(200)
            .MustSay("""{"made": "2026-11-15T12:00:00+00:00", "countEvery": "P1M"}""");
        (await household.Server.Client(secret).GetAsync("/api/balances")).MustBeProblem(401, "key-unknown");
        (await stranger.GetAsync($"/calendar/{household.Keeper.Key}.ics")).MustBeProblem(404, "calendar-unknown");
        (await stranger.PostAsync(first, "{}")).MustBeProblem(405, "method-unknown");
        (await stranger.SendAsync("HEAD", first, null)).MustBe(200);
        Assert.Equal(("no-cache, private", "no-referrer"), ((await stranger.GetAsync(first)).Headers["Cache-Control"],
            (await stranger.GetAsync(first)).Headers["Referrer-Policy"]));

        var second = await AddressAsync(household, """{"countEvery": "P2W"}""");
        (await stranger.GetAsync(first)).MustBeProblem(404, "calendar-unknown");
        Assert.Contains("2026-11-24 count.oilskin-wallet", Days(Read(await CalendarAsync(household, second)), "count"));
        (await household.Keeper.DeleteAsync("/api/calendar-address")).MustBe(204);
        (await stranger.GetAsync(second)).MustBeProblem(404, "calendar-unknown");
        (await household.Keeper.GetAsync("/api/calendar-address")).MustBeProblem(404, "calendar-address-missing");
    }

    [Fact]
    public async Task Only_a_keeper_makes_it_and_only_a_hash_of_it_is_kept()
    {
        var household = await shared.HarbourRowAsync();
        var partner = await household.IssueAsync("partner", "member");
        var secret = (await AddressAsync(household)).Split('/', '.')[2];

        (await partner.PostAsync("/api/calendar-address", "{}")).MustBeProblem(403, "not-allowed");
        (await partner.GetAsync("/api/calendar-address")).MustBeProblem(403, "not-allowed");
        (await partner.DeleteAsync("/api/calendar-address")).MustBeProblem(403, "not-allowed");
        (await household.Keeper.PostAsync("/api/calendar-address", """{"countEvery": "monthly"}"""))
            .MustBlame(422, "period-unreadable", "countEvery");
        Assert.Equal("true", await Database.AskAsync(household.Server.Database,
            $"select (hash = '{KeyRing.Hash(secret)}')::text from cashevents.calendar_address where tenant_id = "
                + $"'{household.Id}'"));
    }

    [Theory]
    [InlineData("Microsoft", "Warning")]
    [InlineData("Microsoft.AspNetCore", "Trace")]
    public async Task No_log_has_the_secret(string category, string level)
    {
        var log = new WholeLog();
        await using var server = await RunningServer.StartAsync(services: services =>
            services.AddLogging(logging => logging.AddProvider(log)),
            settings: ($"Logging:LogLevel:{category}", level));
        var household = await ReadyAsync(await Household.OpenAsync(server));
        var address = await AddressAsync(household);
        await CalendarAsync(household, address);

        // What it is made of is gone, so that it fails.
        await Database.AskAsync(server.Database, "drop table cashevents.calendar_entry");
        (await server.Client(null).GetAsync(address)).MustBeProblem(503, "storage-failed");
        await Database.AskAsync(server.Database, $"update cashevents.calendar_address set count_every = 'P'");
        (await server.Client(null).GetAsync(address)).MustBeProblem(500, "unexpected");

        Assert.Contains(log.Messages, message => message.Contains("/calendar/….ics failed", StringComparison.Ordinal));
        Assert.DoesNotContain(log.Messages,
            message => message.Contains(address.Split('/', '.')[2], StringComparison.Ordinal));
    }

    [Fact]
    public void Whatever_words_there_are_are_folded_at_75_octets_and_read_back_as_they_were()
    {
        var household = new Domain.Books.Household("Harbour, Row; \\ é", null, "Europe/Dublin", DayOfWeek.Monday,
            null);
        Gen.OneOf(Gen.Const(','), Gen.Const(';'), Gen.Const('\\'), Gen.Const('é'), Gen.Const('"'), Gen.Const(' '),
            Gen.Const('潮'), Gen.Char['a', 'z']).Array[1, 120].Select(letters => new string(letters).Trim())
            .Where(words => words.Length > 0)
            .Sample(words =>
            {
                var file = CalendarFile.Of(household, Guid.Empty,
                    [new("bill.a.2026-11-15", new DateOnly(2026, 11, 15), "bill", words, words + "⛵" + words)],
                    new Dictionary<string, CalendarRevision>());

                Assert.EndsWith("\r\n", file, StringComparison.Ordinal);
                Assert.All(file.Split("\r\n"), line => Assert.InRange(Encoding.UTF8.GetByteCount(line), 0, 75));
                Assert.DoesNotContain('\n', file.Replace("\r\n", "", StringComparison.Ordinal));
                var read = Ical.Net.Calendar.Load(file)!.Events.Single()!;
                Assert.Equal((words, words + "⛵" + words), (read.Summary, read.Description));
            });
    }

    private async Task<Household> ReadyAsync(Household? given = null)
    {
        var household = await (given ?? await shared.HarbourRowAsync()).PaidMonthlyAsync();
        (await household.Keeper.PutAsync("/api/plan", """{"from": "2026-W44", "amounts": {"ferry-fares": 21.00}}"""))
            .MustBe(200);
        (await household.Keeper.PostAsync("/api/goals",
            """{"compartment": "boat-insurance", "label": "Hull, once, and again", "amount": 120.00, "due": "2026-12-05"}"""))
            .MustBe(201);
        await household.RuleAsync("boat-insurance", """{"kind": "fixed", "amount": 40.00, "holding": "bank"}""");
        await household.RuleAsync("ferry-fares", """{"kind": "weekly", "rank": 2}""");
        await household.FillAsync("boat-insurance", "50.00");
        await household.FillAsync("ferry-fares", "60.00");
        (await household.Keeper.PostAsync("/api/counts",
            """{"compartment": "ferry-fares", "total": 60.00, "occurredOn": "2026-11-10"}""")).MustBe(201);
        (await household.Keeper.PutAsync("/api/saving-plans/rainy-day",
            """{"first": 1.00, "growth": 1.00, "count": 2, "from": "2026-11-20"}""")).MustBe(200);
        return household;
    }

    private static async Task<string> AddressAsync(Household household, string sent = "{}") =>
        new Uri((await household.Keeper.PostAsync("/api/calendar-address", sent)).MustBe(201).Json
            .GetProperty("address").GetString()!).AbsolutePath;

    private static async Task<Reply> CalendarAsync(Household household, string address)
    {
        var calendar = (await household.Server.Client(null).GetAsync(address)).MustBe(200);
        Assert.Equal("text/calendar", calendar.ContentType);
        return calendar;
    }

    private static List<CalendarEvent> Read(Reply calendar) => [.. Ical.Net.Calendar.Load(calendar.Text)!.Events!];

    private static string Id(CalendarEvent entry) => entry.Uid!.Split('@')[0];

    private static string Day(CalendarEvent entry) => $"{entry.Start!.Value:yyyy-MM-dd}";

    private static IEnumerable<string> Days(IEnumerable<CalendarEvent> events, string category) =>
        events.Where(e => e.Categories.Single() == category).Select(e => $"{Day(e)} {Id(e)}").Order();

    /// <summary>Keeps all that is logged.</summary>
    private sealed class WholeLog : ILoggerProvider, ILogger
    {
        private readonly ConcurrentQueue<string> _messages = new();

        public IReadOnlyCollection<string> Messages => _messages;

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
            Func<TState, Exception?, string> formatter) => _messages.Enqueue(formatter(state, exception) + exception);

        public void Dispose()
        {
        }
    }
}
