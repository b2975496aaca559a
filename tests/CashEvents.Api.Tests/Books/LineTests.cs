using Xunit;

namespace CashEvents.Api.Tests.Books;

public sealed class LineTests(SharedServer shared)
{
    [Theory]
    [InlineData("limit=1")]
    [InlineData("limit=7")]
    [InlineData("limit=20")]
    [InlineData("limit=1000")]
    [InlineData("after=0&limit=3")]
    public async Task Following_the_Link_header_to_the_end_sees_each_line_once(string query)
    {
        var household = await WrittenAsync();

        var seen = new List<long>();
        var last = "";
        for (var address = $"/api/lines?{query}"; address is not null;)
        {
            var page = (await household.Keeper.GetAsync(address)).MustBe(200);
            seen.AddRange(Numbers(page));
            var link = page.Headers.GetValueOrDefault("Link");
            Assert.True(link is null || (link.StartsWith('<')
                && link.EndsWith(">; rel=\"next\"", StringComparison.Ordinal)), link);
            address = link is null ? null : new Uri(link[1..link.IndexOf('>')]).PathAndQuery;
            Assert.Equal(address, page.Json.TryGetProperty("next", out var next) ? next.GetString() : null);
            last = page.Text;
        }

        Assert.Equal(Enumerable.Range(1, 20).Select(n => (long)n), seen);
        Assert.DoesNotContain("\"next\"", last);
    }

    [Fact]
    public async Task A_hundred_lines_make_a_page_if_no_limit_is_given()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PostAsync("/api/batches",
            $$"""{"movements": [{{string.Join(',', Enumerable.Repeat("""{"kind": "fill", "compartment": "market-days", "amount": 0.01}""", 91))}}]}""")).MustBe(200);

        var page = (await household.Keeper.GetAsync("/api/lines")).MustBe(200);

        Assert.Equal(100, Numbers(page).Count());
        Assert.Equal("/api/lines?after=100", page.Json.GetProperty("next").GetString());
        Assert.Equal(101, page.Json.GetProperty("bookLine").GetInt64());
    }

    [Theory]
    [InlineData("kind=spend", 13, 14, 18)]
    [InlineData("kind=keyIssued", 2, 15)]
    [InlineData("kind=transfer", 17)]
    [InlineData("kind=refund")]
    [InlineData("compartment=market-days", 7, 12, 14, 16, 17)]
    [InlineData("compartment=ferry-fares", 6, 11, 13, 17, 18, 19, 20)]
    [InlineData("by=partner", 16)]
    [InlineData("by=setup", 1, 2)]
    [InlineData("by=nobody")]
    [InlineData("from=2026-11-03", 13, 14, 16, 17, 18, 19, 20)]
    [InlineData("to=2026-11-01", 11, 12)]
    [InlineData("from=2026-11-03&to=2026-11-03", 13)]
    [InlineData("from=2026-11-04&to=2026-11-03")]
    [InlineData("kind=spend&compartment=ferry-fares", 13, 18)]
    [InlineData("kind=spend&compartment=ferry-fares&after=13", 18)]
    [InlineData("kind=spend&compartment=ferry-fares&from=2026-11-04&to=2026-11-10&by=keeper", 18)]
    [InlineData("compartment=market-days&limit=2", 7, 12, 14, 16, 17)]
    [InlineData("after=20")]
    [InlineData("after=2147483647")]
    public async Task Filters_narrow_the_list_alone_and_together(string query, params int[] numbers)
    {
        var household = await WrittenAsync();

        Assert.Equal(numbers, (await household.LinesAsync(query)).Select(l => l.GetProperty("line").GetInt32()));
    }

    [Fact]
    public async Task A_line_tells_who_and_when_and_what_and_no_secret()
    {
        var household = await WrittenAsync();

        (await household.Keeper.GetAsync("/api/lines/17")).MustBe(200).MustSay($$"""
            {"line": 17, "entryId": 17, "kind": "transfer", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(17)}}", "occurredOn": "2026-11-10",
             "from": {"compartment": "market-days", "holding": "cash"}, "to": {"compartment": "ferry-fares", "holding": "cash"}, "amount": 5.00, "description": "Covers, \"the boat\""}
            """);
        (await household.Keeper.GetAsync("/api/lines/15")).MustBe(200).MustHave($$"""
            {"line": 15, "entryId": 15, "kind": "keyIssued", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(15)}}", "name": "partner", "role": "member"}
            """);
        (await household.Keeper.GetAsync("/api/lines/6")).MustBe(200).MustHave($$"""
            {"line": 6, "entryId": 6, "kind": "compartmentOpened", "recordedAt": "2026-11-15T12:00:00+00:00", "by": "keeper", "hash": "{{await household.HashAsync(6)}}", "compartment": "ferry-fares",
             "label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"}
            """);
        (await household.Keeper.GetAsync("/api/lines/1")).MustBe(200);
    }

    [Fact]
    public async Task As_CSV_the_page_follows_RFC_4180_and_keeps_its_link()
    {
        var household = await WrittenAsync();

        var page = (await household.Keeper.GetAsync("/api/lines?after=16&limit=3", ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal(
            "line,entryId,kind,recordedAt,by,occurredOn,compartment,holding,toCompartment,toHolding,amount,expected,counted,difference,description,reverses,amends,reversedBy,amendedBy,clockAhead\r\n"
            + "17,17,transfer,2026-11-15T12:00:00.000000Z,keeper,2026-11-10,market-days,cash,ferry-fares,cash,5.00,,,,\"Covers, \"\"the boat\"\"\",,,,,\r\n"
            + "18,17,spend,2026-11-15T12:00:00.000000Z,keeper,2026-11-10,ferry-fares,cash,,,56.60,,,,\"Covers, \"\"the "
            + "boat\"\"\",,,,,\r\n"
            + "19,19,count,2026-11-15T12:00:00.000000Z,keeper,2026-11-15,ferry-fares,cash,,,,0.00,1.00,1.00,,,,,,\r\n",
            page.Text);
        Assert.EndsWith("/api/lines?after=19&limit=3>; rel=\"next\"", page.Headers["Link"]);
    }

    [Fact]
    public async Task As_CSV_a_correction_shows_what_it_changes_and_both_lines_name_each_other()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "64.00");
        (await household.Keeper.PostAsync("/api/transfers",
            """{"from": "ferry-fares", "to": "rainy-day", "amount": 5.00, "occurredOn": "2026-11-02"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/lines/12/reversal", """{"reason": "Never moved"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/lines/11/amendment",
            """{"reason": "Miscounted", "replacement": {"kind": "fill", "compartment": "ferry-fares", "amount": 60.00}}""")).MustBe(201);

        var page = (await household.Keeper.GetAsync("/api/lines?after=10", ("Accept", "text/csv"))).MustBe(200);

        Assert.Equal(
            [
                "11,11,fill,2026-11-15T12:00:00.000000Z,keeper,2026-11-01,ferry-fares,cash,,,64.00,,,,,,,14,15,",
                "12,12,transfer,2026-11-15T12:00:00.000000Z,keeper,2026-11-02,ferry-fares,cash,rainy-day,cash,5.00,,,,,,,13,,",
                "13,13,reversal,2026-11-15T12:00:00.000000Z,keeper,2026-11-02,rainy-day,cash,ferry-fares,cash,5.00,,,,Never moved,12,,,,",
                "14,14,reversal,2026-11-15T12:00:00.000000Z,keeper,2026-11-01,ferry-fares,cash,,,,,,-64.00,Miscounted,11,,,,",
                "15,14,fill,2026-11-15T12:00:00.000000Z,keeper,2026-11-01,ferry-fares,cash,,,60.00,,,,,,11,,,",
            ],
            page.Text.Split("\r\n").Skip(1).SkipLast(1));
    }

    [Theory]
    [InlineData("limit", "limit=0")]
    [InlineData("limit", "limit=-5")]
    [InlineData("limit", "limit=1001")]
    [InlineData("limit", "limit=ten")]
    [InlineData("limit", "limit=1.0")]
    [InlineData("limit", "limit=99999999999999999999")]
    [InlineData("limit", "limit=+5")]
    [InlineData("after", "after=-1")]
    [InlineData("after", "after=2147483648")]
    [InlineData("after", "after=")]
    [InlineData("kind", "kind=theft")]
    [InlineData("kind", "kind=Spend")]
    [InlineData("kind", "kind=%00")]
    [InlineData("compartment", "compartment=%00")]
    [InlineData("by", "by=a%00b")]
    [InlineData("from", "from=2026-02-30")]
    [InlineData("from", "from=20261101")]
    [InlineData("to", "to=1.11.2026")]
    [InlineData("to", "to=2026-11-01T00:00:00Z")]
    [InlineData("compartmet", "compartmet=ferry-fares")]
    [InlineData("limit", "limit=5&limit=6")]
    [InlineData("from%00", "from%00=2026-11-01")]
    [InlineData("%EF%BF%BE", "%EF%BF%BE=1")]
    public async Task A_question_that_can_not_be_read_is_refused(string parameter, string query)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync($"/api/lines?{query}"))
            .MustBlame(400, "malformed", Uri.UnescapeDataString(parameter));
    }

    [Fact]
    public async Task A_misspelt_parameter_is_answered_with_the_one_that_was_meant()
    {
        var household = await shared.HarbourRowAsync();

        Assert.Contains("Did you mean `compartment`?",
            (await household.Keeper.GetAsync("/api/lines?compartmet=ferry-fares"))
                .MustBlame(400, "malformed", "compartmet"));
    }

    [Theory]
    [InlineData("/api/lines/11", "line-unknown")]
    [InlineData("/api/lines/0", "line-unknown")]
    [InlineData("/api/lines/-1", "line-unknown")]
    [InlineData("/api/lines/9223372036854775807", "line-unknown")]
    [InlineData("/api/lines/9223372036854775808", "address-unknown")]
    [InlineData("/api/lines/eleven", "address-unknown")]
    [InlineData("/api/lines?compartment=lighthouse", "compartment-unknown")]
    public async Task What_is_not_there_is_not_found(string address, string code)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.GetAsync(address)).MustBeProblem(404, code);
    }

    private static IEnumerable<long> Numbers(Reply page) =>
        page.Json.GetProperty("lines").EnumerateArray().Select(l => l.GetProperty("line").GetInt64());

    /// <summary>Twenty lines: ten of setting up, then these.</summary>
    private async Task<Household> WrittenAsync()
    {
        var household = await shared.HarbourRowAsync();
        await household.FillAsync("ferry-fares", "60.00", on: "2026-11-01");
        await household.FillAsync("market-days", "40.00", on: "2026-11-01");
        await household.SpendAsync("ferry-fares", "8.40", on: "2026-11-03");
        await household.SpendAsync("market-days", "6.20", on: "2026-11-05");
        var partner = await household.IssueAsync("partner", "member");
        (await partner.PostAsync("/api/fills",
            """{"compartment": "market-days", "amount": 1.00, "occurredOn": "2026-11-06"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/spends",
            """{"compartment": "ferry-fares", "amount": 56.60, "occurredOn": "2026-11-10", "restFrom": "market-days", "description": "Covers, \"the boat\""}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/counts", """{"compartment": "ferry-fares", "total": 1.00}"""))
            .MustBe(201);
        (await household.Keeper.PostAsync("/api/counts/19/settlement", """{"reason": "A coin under the seat"}"""))
            .MustBe(201);
        Assert.Equal(20, await household.LineAsync());
        return household;
    }
}
