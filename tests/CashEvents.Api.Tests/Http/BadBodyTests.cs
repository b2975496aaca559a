using System.Net;
using System.Net.Http.Headers;
using System.Net.Sockets;
using System.Text;
using Xunit;

namespace CashEvents.Api.Tests.Http;

public sealed class BadBodyTests(SharedServer shared)
{
    [Theory]
    [InlineData("$", "null")]
    [InlineData("$", "[]")]
    [InlineData("$", "7")]
    [InlineData("$", "\"ferry\"")]
    [InlineData("$", "")]
    [InlineData("$", "   ")]
    [InlineData("$", "{")]
    [InlineData("$", "not json")]
    [InlineData("$", "<fill/>")]
    [InlineData("$", """{"compartment": "ferry-fares", "amount": 1.00} {}""")]
    [InlineData("$", """{"compartment": "ferry-fares", "amount": 1,00}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": true}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": [1.00]}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": {"value": 1.00}}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": 1e400}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": 123456789012345678901234567890}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": NaN}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": "NaN"}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": Infinity}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": 01.00}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": .5}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": +1.00}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": 0x10}""")]
    [InlineData("compartment", """{"compartment": 7, "amount": 1.00}""")]
    [InlineData("compartment", """{"compartment": ["ferry-fares"], "amount": 1.00}""")]
    [InlineData("compartment", """{"compartment": "\ud800", "amount": 1.00}""")]
    [InlineData("holding", """{"compartment": "ferry-fares", "holding": 0, "amount": 1.00}""")]
    [InlineData("holding", """{"compartment": "ferry-fares", "holding": "cash,bank", "amount": 1.00}""")]
    [InlineData("occurredOn", """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "3.11.2026"}""")]
    [InlineData("occurredOn", """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2026-02-30"}""")]
    [InlineData("occurredOn",
        """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": "2026-11-03T10:00:00Z"}""")]
    [InlineData("occurredOn", """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": 20261103}""")]
    [InlineData("occurredOn", """{"compartment": "ferry-fares", "amount": 1.00, "occurredOn": ""}""")]
    [InlineData("ammount", """{"compartment": "ferry-fares", "ammount": 1.00}""")]
    [InlineData("Amount", """{"compartment": "ferry-fares", "Amount": 1.00}""")]
    [InlineData("\uFFFE", """{"compartment": "ferry-fares", "\uFFFE": 1.00}""")]
    [InlineData("", """{"compartment": "ferry-fares", "amount": 1.00, "": 1}""")]
    [InlineData("amount", """{"compartment": "ferry-fares", "amount": 1.00, "amount": 2.00}""")]
    public async Task A_body_that_can_not_be_read_is_refused_with_the_field_at_fault(string field, string body)
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", body)))
            .MustBlame(400, "malformed", field);
    }

    [Theory]
    [InlineData("ammount", "There is no field `ammount` here. Did you mean `amount`?")]
    [InlineData("comparment", "There is no field `comparment` here. Did you mean `compartment`?")]
    [InlineData("zzz", "There is no field `zzz` here. The fields are")]
    public async Task A_misspelt_field_is_answered_with_the_one_that_was_meant(string field, string told)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills",
                $$"""{"compartment": "ferry-fares", "amount": 1.00, "{{field}}": 1}"""));

        Assert.StartsWith(told, refused.MustBlame(400, "malformed", field));
    }

    [Theory]
    [InlineData("""{"compartment": "ferry-fares", "amount": 1,00}""", "line 1, byte 44")]
    [InlineData("{\"compartment\": \"ferry-fares\",\n \"amount\": 1.00", "line 2, byte 16")]
    [InlineData("""{"compartment": "ferry-fares", "amount": 0x10}""", "line 1, byte 43")]
    public async Task JSON_that_breaks_off_is_answered_with_where(string body, string where)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.Keeper.PostAsync("/api/fills", body);

        Assert.Contains($"{where}: check commas, quotes and brackets there.",
            refused.MustBeProblem(400, "malformed").GetProperty("detail").GetString());
    }

    [Theory]
    [InlineData("/api/sweeps", """{"from": ["ferry-fares", 7], "to": "rainy-day"}""",
        "from[1]", "`from[1]` must be text in quotes.")]
    [InlineData("/api/counts", """{"compartment": "ferry-fares", "denominations": {"0.50": "two"}}""",
        "denominations['0.50']", "`denominations['0.50']` must be a whole number.")]
    [InlineData("/api/goals", """{"compartment": "boat-insurance", "amounts": {"April": 520.00}}""",
        "amounts.April", "`amounts.April` must be a date such as \"2026-11-03\".")]
    [InlineData("/api/fills", """{"compartment": "ferry-fares", "the amount": 1.00}""",
        "the amount", "There is no field `the amount` here. The fields are compartment, ")]
    [InlineData("/api/keys", """{"name": "script", "movements": ["fill", null]}""",
        "movements[1]", "`movements[1]` must be one of \"fill\", ")]
    [InlineData("/api/batches", """{"movements": [{"amount": 1.00, "compartment": 7, "kind": "fill"}]}""",
        "movements[0].compartment", "`movements[0].compartment` must be text in quotes.")]
    [InlineData("/api/batches", """{"movements": [{"kind": "\ud800"}]}""",
        "movements[0].kind", "`kind` says which movement it is: one of bankStatement, ")]
    public async Task A_fault_within_a_list_or_a_movement_is_answered_with_what_belongs_there(
        string address, string body, string field, string told)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(keeper => keeper.PostAsync(address, body));

        Assert.StartsWith(told, refused.MustBlame(400, "malformed", field));
    }

    [Theory]
    [InlineData("1.000")]
    [InlineData("\"1.000\"")]
    [InlineData("\"1\"")]
    [InlineData("1.0")]
    public async Task An_amount_that_fits_the_currency_is_taken_as_a_number_and_as_text(string amount)
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PostAsync("/api/fills", $$"""{"compartment": "ferry-fares", "amount": {{amount}}}"""))
            .MustBe(201);
        (await household.Keeper.PutAsync("/api/plan",
            $$"""{"from": "2026-W47", "amounts": {"ferry-fares": {{amount}} } }""")).MustBe(200);

        Assert.Equal("1.00", await household.HoldsAsync("ferry-fares"));
    }

    [Theory]
    [InlineData("\"9,60\"", "`amount` is written with a comma, \"9,60\": write 9.60, with a point.")]
    [InlineData("\"9,6\"", "`amount` is written with a comma, \"9,6\": write 9.6, with a point.")]
    [InlineData("\"1,000\"", "`amount` must be a number such as 12.50, with a point before the decimals and no other "
        + "mark.")]
    [InlineData("\"1.000,50\"",
        "`amount` must be a number such as 12.50, with a point before the decimals and no other mark.")]
    [InlineData("\" 1.00\"", "`amount` must be a number such as 12.50, with a point before the decimals and no other "
        + "mark.")]
    [InlineData("\"1.00\\n\"",
        "`amount` must be a number such as 12.50, with a point before the decimals and no other mark.")]
    [InlineData("\"1e2\"", "`amount` must be a number such as 12.50, with a point before the decimals and no other "
        + "mark.")]
    [InlineData("\"١\"",
        "`amount` must be a number such as 12.50, with a point before the decimals and no other mark.")]
    [InlineData("true", "`amount` must be a number such as 12.50, with a point before the decimals and no other mark.")]
    public async Task An_amount_that_is_written_otherwise_is_answered_with_the_mend(string amount, string mend)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", $$"""{"compartment": "ferry-fares", "amount": {{amount}}}"""));

        Assert.Equal(mend, refused.MustBlame(400, "malformed", "amount"));
    }

    [Theory]
    [InlineData("text/plain")]
    [InlineData("application/x-www-form-urlencoded")]
    [InlineData("application/xml")]
    [InlineData(null)]
    public async Task A_body_that_is_not_said_to_be_JSON_is_refused_with_the_header_to_send(string? type)
    {
        var household = await shared.HarbourRowAsync();
        var content = new ByteArrayContent(
            Encoding.UTF8.GetBytes("""{"compartment": "ferry-fares", "amount": 1.00}"""));
        content.Headers.ContentType = type is null ? null : MediaTypeHeaderValue.Parse(type);

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.SendContentAsync("POST", "/api/fills", content));

        Assert.Contains("Content-Type: application/json",
            refused.MustBeProblem(type is null ? 400 : 415, type is null ? "malformed" : "media-type-unknown")
                .GetProperty("detail").GetString());
    }

    [Fact]
    public async Task No_body_at_all_is_refused()
    {
        var household = await shared.HarbourRowAsync();

        (await household.WithoutWritingAsync(keeper => keeper.SendContentAsync("POST", "/api/fills", null)))
            .MustBeProblem(400, "malformed");
    }

    [Theory]
    [InlineData("application/json; charset=utf-8")]
    [InlineData("Application/JSON")]
    public async Task A_body_said_to_be_JSON_in_other_letters_is_taken(string type)
    {
        var household = await shared.HarbourRowAsync();
        var content = new ByteArrayContent(Encoding.UTF8.GetBytes("""{"closed": true}"""));
        content.Headers.ContentType = MediaTypeHeaderValue.Parse(type);

        (await household.Keeper.SendContentAsync("PATCH", "/api/compartments/ferry-fares", content)).MustBe(200);
    }

    [Fact]
    public async Task Bytes_that_are_no_UTF_8_are_refused()
    {
        var household = await shared.HarbourRowAsync();
        var content = new ByteArrayContent(
            [.. """{"compartment": "ferry"""u8, 0xFF, 0xFE, .. "\", \"amount\": 1.00}"u8]);
        content.Headers.ContentType = new MediaTypeHeaderValue("application/json");

        (await household.WithoutWritingAsync(keeper => keeper.SendContentAsync("POST", "/api/fills", content)))
            .MustBeProblem(400, "malformed");
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_body_of_more_than_four_megabytes_is_refused(bool lengthKnown)
    {
        var household = await shared.HarbourRowAsync();
        var body =
            $$"""{"compartment": "ferry-fares", "amount": 1.00, "description": "{{new string('x', 4 * 1024 * 1024)}}"}""";
        HttpContent content = lengthKnown
            ? new StringContent(body, Encoding.UTF8, "application/json")
            : new StreamContent(new Unknown(Encoding.UTF8.GetBytes(body)));
        content.Headers.ContentType = new MediaTypeHeaderValue("application/json");

        (await household.WithoutWritingAsync(
            keeper => keeper.SendContentAsync("POST", "/api/fills", content, ("Expect", "100-continue"))))
            .MustBeProblem(413, "body-too-large");
    }

    /// <summary>By senders that send all before they read: the answer has to be there still.</summary>
    [Theory]
    [InlineData("/api/fills", "application/json", "   ", true)]
    [InlineData("/api/fills", "application/json", "{\"ammount\": 1.00, ", true)]
    [InlineData("/api/fills", "application/json", "not json", true)]
    [InlineData("/api/batches", "application/json", "{\"movements\": [{}, ", true)]
    [InlineData("/api/imports?compartment=ferry-fares", "text/csv", "date,description,amount,balance\n", true)]
    [InlineData("/api/fills", "application/json", "{\"ammount\": 1.00, ", false)]
    [InlineData("/api/imports?compartment=ferry-fares", "text/csv", "date,description,amount,balance\n", false)]
    public async Task A_body_of_more_than_four_megabytes_is_refused_as_that_whatever_else_is_wrong_with_it(
        string address, string type, string begins, bool inChunks)
    {
        var household = await shared.HarbourRowAsync();
        var body = (begins + new string(' ', 9 * 1024 * 1024))[..(9 * 1024 * 1024)];
        var piece = body.Length / 9;

        var refused = await household.WithoutWritingAsync(keeper => RawAsync(
            keeper, address, type, inChunks ? "Transfer-Encoding: chunked" : $"Content-Length: {body.Length}",
            inChunks ? [.. Enumerable.Range(0, 9).Select(n => $"{piece:x}\r\n{body.Substring(n * piece, piece)}\r\n"),
                "0\r\n\r\n"] : [body]));

        refused.MustBeProblem(413, "body-too-large");
    }

    [Theory]
    [InlineData("ffffffffffffffffff")]
    [InlineData("ffffffffffffffff")]
    [InlineData("ffffffff")]
    [InlineData("80000000")]
    [InlineData("-1")]
    [InlineData("twelve")]
    [InlineData("")]
    public async Task A_chunk_whose_size_is_no_number_of_bytes_is_refused(string size)
    {
        var household = await shared.HarbourRowAsync();

        foreach (var (address, type) in new[] { ("/api/fills", "application/json"),
            ("/api/imports?compartment=ferry-fares", "text/csv") })
        {
            (await household.WithoutWritingAsync(
                keeper => RawAsync(keeper, address, type, "Transfer-Encoding: chunked", [$"{size}\r\n"])))
                .MustBeProblem(400, "malformed");
        }
    }

    [Theory]
    [InlineData("[", "]")]
    [InlineData("{\"a\":", "}")]
    public async Task A_body_nested_without_end_is_refused(string open, string close)
    {
        var household = await shared.HarbourRowAsync();
        var deep = string.Concat(Enumerable.Repeat(open, 100_000)) + "1"
            + string.Concat(Enumerable.Repeat(close, 100_000));

        (await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", deep)))
            .MustBeProblem(400, "malformed");
        (await household.WithoutWritingAsync(
            keeper => keeper.PostAsync("/api/fills", $$"""{"compartment": {{deep}}, "amount": 1.00}""")))
            .MustBeProblem(400, "malformed");
    }

    [Fact]
    public async Task Very_long_words_are_refused_and_not_sent_back_whole()
    {
        var household = await shared.HarbourRowAsync();
        var words = new string('x', 1_000_000);

        foreach (var body in new[] { $$"""{"compartment": "{{words}}", "amount": 1.00}""",
            $$"""{"compartment": "ferry-fares", "amount": 1.00, "description": "{{words}}"}""",
            $$"""{"compartment": "ferry-fares", "{{words}}": 1.00}""" })
        {
            var refused = await household.WithoutWritingAsync(keeper => keeper.PostAsync("/api/fills", body));

            Assert.InRange(refused.Status, 400, 422);
            refused.MustBeProblem(refused.Status, refused.Json.GetProperty("code").GetString()!);
            Assert.InRange(refused.Text.Length, 1, 10_000);
        }
    }

    /// <summary>Sends a request byte by byte as it stands here, and only then reads the answer.</summary>
    private static async Task<Reply> RawAsync(ApiClient keeper, string address, string type, string length,
        IReadOnlyList<string> pieces)
    {
        var stop = TestContext.Current.CancellationToken;
        using var sender = new TcpClient();
        await sender.ConnectAsync(IPAddress.Loopback, new Uri(keeper.Address).Port, stop);
        var stream = sender.GetStream();
        foreach (var piece in pieces.Prepend($"POST {address} HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer "
            + $"{keeper.Key}\r\nContent-Type: {type}\r\n{length}\r\nConnection: close\r\n\r\n"))
        {
            await stream.WriteAsync(Encoding.ASCII.GetBytes(piece), stop);
        }

        using var reader = new StreamReader(stream, Encoding.UTF8);
        var answer = await reader.ReadToEndAsync(stop);
        var body = answer[answer.IndexOf('{', StringComparison.Ordinal)..(answer.LastIndexOf('}') + 1)];
        var contentType = answer.Split("\r\n")
            .First(line => line.StartsWith("Content-Type: ",
                StringComparison.OrdinalIgnoreCase))["Content-Type: ".Length..].Split(';')[0];
        return new Reply(int.Parse(answer.Split(' ')[1]), body, contentType, null, new Dictionary<string, string>());
    }

    /// <summary>A stream whose length is not known before its end, so that it is sent in chunks.</summary>
    private sealed class Unknown(byte[] bytes) : MemoryStream(bytes)
    {
        public override bool CanSeek => false;
    }
}
