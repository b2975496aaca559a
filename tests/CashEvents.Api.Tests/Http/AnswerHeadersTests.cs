using Xunit;

namespace CashEvents.Api.Tests.Http;

/// <summary>Every answer, whatever it is, tells a browser not to guess, frame, load or tell others.</summary>
public sealed class AnswerHeadersTests
{
    [ThoroughFact]
    public async Task Every_answer_carries_them_problems_too()
    {
        await using var server = await RunningServer.StartAsync(
            map: app => app.MapGet("/api/broken", () => { throw new InvalidOperationException("Broken."); }));
        var household = await Household.OpenAsync(server);
        var keeper = household.Keeper;
        var tag = (await keeper.GetAsync("/api/balances")).ETag!;
        (string What, int Status, Func<Task<Reply>> Send)[] answers =
        [
            ("read", 200, () => keeper.GetAsync("/api/balances")),
            ("known", 304, () => keeper.GetAsync("/api/balances", ("If-None-Match", tag))),
            ("CSV", 200, () => keeper.GetAsync("/api/weeks", ("Accept", "text/csv"))),
            ("page", 200, () => keeper.GetAsync("/api/weeks", ("Accept", "text/html"))),
            ("written", 201, () => keeper.PostAsync("/api/fills",
                """{"compartment": "ferry-fares", "amount": 1.00}""")),
            ("malformed", 400, () => keeper.GetAsync("/api/balances?on=soon")),
            ("no key", 401, () => server.Client(null).GetAsync("/api/balances")),
            ("not there", 404, () => keeper.GetAsync("/api/nowhere")),
            ("not this way", 405, () => keeper.DeleteAsync("/api/balances")),
            ("refused", 422, () => keeper.PostAsync("/api/spends",
                """{"compartment": "ferry-fare", "amount": 1.00}""")),
            ("broken", 500, () => keeper.GetAsync("/api/broken")),
            ("another host", 421, () => keeper.GetAsync("/api/balances", ("Host", "lighthouse.example"))),
            ("alive", 200, () => keeper.GetAsync("/health/live")),
            ("ready", 200, () => keeper.GetAsync("/health/ready")),
            ("document", 200, () => keeper.GetAsync("/openapi.json")),
            ("its page", 200, () => keeper.GetAsync("/swagger/index.html")),
            ("the page's script", 200, () => keeper.GetAsync("/swagger/page.js")),
            ("the page's style", 200, () => keeper.GetAsync("/swagger/swagger-ui.css")),
            ("nowhere", 404, () => keeper.GetAsync("/nowhere")),
        ];

        foreach (var (what, status, send) in answers)
        {
            var reply = await send();
            Assert.True(reply.Status == status, $"{what}: {reply.Status} {reply.Text}");
            Assert.Equal((what, "nosniff"), (what, reply.Headers.GetValueOrDefault("X-Content-Type-Options")));
            Assert.Equal((what, "no-referrer"), (what, reply.Headers.GetValueOrDefault("Referrer-Policy")));
            var policy = reply.Headers.GetValueOrDefault("Content-Security-Policy") ?? "";
            Assert.True(policy.Contains("default-src 'none'", StringComparison.Ordinal)
                && policy.Contains("frame-ancestors 'none'", StringComparison.Ordinal), $"{what}: {policy}");
            Assert.DoesNotContain("unsafe-eval", policy);
        }
    }
}
