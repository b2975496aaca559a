using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class PreconditionTests(SharedServer shared)
{
    private const string Fill = """{"compartment": "ferry-fares", "amount": 60.00}""";

    [Fact]
    public async Task A_write_at_the_line_it_was_decided_for_is_written()
    {
        var household = await shared.HarbourRowAsync();
        var read = await household.Keeper.GetAsync("/api/balances");

        var written = await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", read.ETag!));

        Assert.Equal(Household.SetUpLines, read.BookLine);
        written.MustBe(201);
        Assert.Equal($"\"{Household.SetUpLines + 1}\"", written.ETag);
    }

    [Theory]
    [InlineData("POST", "/api/fills", Fill)]
    [InlineData("POST", "/api/batches",
        """{"movements": [{"kind": "fill", "compartment": "ferry-fares", "amount": 60.00}]}""")]
    [InlineData("POST", "/api/batches",
        """{"mode": "eachOnItsOwn", "movements": [{"kind": "fill", "compartment": "ferry-fares", "amount": 60.00}]}""")]
    [InlineData("PUT", "/api/household",
        """{"name": "Harbour Row 2", "currency": "EUR", "timeZone": "Europe/Dublin"}""")]
    [InlineData("PATCH", "/api/compartments/ferry-fares", """{"label": "Ferry and bus fares"}""")]
    [InlineData("DELETE", "/api/keys/keeper", null)]
    public async Task A_write_decided_for_an_earlier_line_is_refused(string method, string address, string? body)
    {
        var household = await shared.HarbourRowAsync();
        var read = await household.Keeper.GetAsync("/api/balances");
        await household.FillAsync("market-days", "1.00");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.SendAsync(method, address, body, ("If-Match", read.ETag!)));

        if (address == "/api/batches" && body!.Contains("eachOnItsOwn"))
        {
            var item = refused.MustBe(200).Json.GetProperty("answers")[0];
            Assert.Equal(412, item.GetProperty("status").GetInt32());
            Assert.Equal("book-moved-on", item.GetProperty("problem").GetProperty("code").GetString());
        }
        else
        {
            refused.MustBeProblem(412, address == "/api/batches" ? "batch-refused" : "book-moved-on");
        }
    }

    public static TheoryData<string, string> DryRuns => new()
    {
        { "/api/fill-runs", """{"payday": "2026-10-30", "dryRun": true}""" },
        { "/api/imports",
            """{"compartment": "ferry-fares", "csv": "date,description,amount,balance\n2026-11-02,Pay,60.00,60.00\n", "dryRun": true}""" },
    };

    [Theory]
    [MemberData(nameof(DryRuns))]
    public async Task A_dry_run_decided_for_an_earlier_line_is_refused_as_the_write_would_be(string address,
        string body)
    {
        var household = await (await shared.HarbourRowAsync()).PaidMonthlyAsync();
        await household.RuleAsync("market-days", """{"kind": "fixed", "amount": 130.00}""");
        var read = await household.Keeper.GetAsync("/api/balances");
        var met = await household.Keeper.PostAsync(address, body, ("If-Match", read.ETag!));
        await household.FillAsync("market-days", "1.00");

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync(address, body, ("If-Match", read.ETag!)));
        var unread = await household.WithoutWritingAsync(keeper => keeper.PostAsync(address, body, ("If-Match", "58")));
        var any = await household.WithoutWritingAsync(keeper => keeper.PostAsync(address, body, ("If-Match", "*")));

        Assert.Equal(read.BookLine, met.MustBe(200).BookLine);
        refused.MustBeProblem(412, "book-moved-on");
        unread.MustBlame(400, "malformed", "If-Match");
        any.MustBe(200);
    }

    [Theory]
    [InlineData("10")]
    [InlineData("ten")]
    [InlineData("\"10\" \"11\"")]
    [InlineData("\"10\", 11")]
    [InlineData("\"10")]
    public async Task An_If_Match_of_another_form_is_refused(string tag)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", Fill, ("If-Match", tag)));

        refused.MustBlame(400, "malformed", "If-Match");
    }

    [Theory]
    [InlineData("W/\"10\"")]
    [InlineData("\"ten\"")]
    [InlineData("\"10-\"")]
    [InlineData("\"10-11\"")]
    [InlineData("W/\"10-AAAABBBBCCCCDDDD\"")]
    [InlineData("\"-AAAABBBBCCCCDDDD\"")]
    [InlineData("\" 10\"")]
    [InlineData("\"+10\"")]
    [InlineData("\"99999999999999999999\"")]
    public async Task A_tag_that_names_no_line_is_never_met(string tag)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", Fill, ("If-Match", tag))))
            .MustBeProblem(412, "book-moved-on");
    }

    [Theory]
    [InlineData("/api/balances", "application/json")]
    [InlineData("/api/weeks", "text/csv")]
    [InlineData("/api/weeks", "text/html")]
    [InlineData("/api/lines/3", "application/json")]
    public async Task The_tag_of_any_answer_and_the_line_alone_name_the_same_line(string address, string form)
    {
        var household = await shared.HarbourRowAsync();
        var read = (await household.Keeper.GetAsync(address, ("Accept", form))).MustBe(200);

        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", Fill, ("If-Match", $"\"{read.BookLine - 1}\""))))
            .MustBeProblem(412, "book-moved-on");
        (await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", $"\"{read.BookLine}\""))).MustBe(201);
        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", Fill, ("If-Match", read.ETag!))))
            .MustBeProblem(412, "book-moved-on");
        var moved = (await household.Keeper.GetAsync(address, ("Accept", form))).MustBe(200);
        (await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", moved.ETag!))).MustBe(201);
    }

    [Fact]
    public async Task An_If_Match_of_any_is_always_met()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", "*"))).MustBe(201);
    }

    [Fact]
    public async Task A_repeated_request_gets_its_answer_though_the_book_has_moved_on_by_it()
    {
        var household = await shared.HarbourRowAsync();
        var tag = (await household.Keeper.GetAsync("/api/balances")).ETag!;

        var first = (await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", tag),
            ("Idempotency-Key", "pay"))).MustBe(201);
        var again = (await household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", tag),
            ("Idempotency-Key", "pay"))).MustBe(201);

        Assert.Equal((first.Text, first.ETag), (again.Text, again.ETag));
        Assert.Equal(Household.SetUpLines + 1, await household.LineAsync());
    }

    [Fact]
    public async Task Of_many_writes_decided_for_one_line_a_single_one_is_written()
    {
        var household = await shared.HarbourRowAsync();
        var tag = (await household.Keeper.GetAsync("/api/balances")).ETag!;

        var replies = await Task.WhenAll(
            Enumerable.Range(0, 20).Select(_ => household.Keeper.PostAsync("/api/fills", Fill, ("If-Match", tag))));

        Assert.Equal([201, .. Enumerable.Repeat(412, 19)], replies.Select(r => r.Status).Order());
        Assert.Equal("60.00", await household.HoldsAsync("ferry-fares"));
    }

    [Theory]
    [InlineData("/api/household")]
    [InlineData("/api/wallets")]
    [InlineData("/api/wallets/desk-drawer")]
    [InlineData("/api/compartments")]
    [InlineData("/api/compartments/ferry-fares")]
    [InlineData("/api/balances")]
    public async Task What_is_known_is_not_sent_again_until_the_book_moves_on(string address)
    {
        var household = await shared.HarbourRowAsync();
        var first = (await household.Keeper.GetAsync(address)).MustBe(200);

        var known = await household.Keeper.GetAsync(address, ("If-None-Match", first.ETag!));
        var weak = await household.Keeper.GetAsync(address, ("If-None-Match", $"\"1\", W/{first.ETag}"));
        var any = await household.Keeper.GetAsync(address, ("If-None-Match", "*"));
        await household.FillAsync("ferry-fares", "60.00");
        var moved = await household.Keeper.GetAsync(address, ("If-None-Match", first.ETag!));

        Assert.Equal((304, "", first.ETag), (known.Status, known.Text, known.ETag));
        Assert.Equal(304, weak.Status);
        Assert.Equal(304, any.Status);
        moved.MustBe(200);
        Assert.Equal(Household.SetUpLines + 1, moved.BookLine);
    }
}
