namespace CashEvents.Api.Notices;

internal sealed class WebhookEndpoints : IEndpoints
{
    private const string Form =
        """{"url": "https://hub.example/cash", "kinds": ["spend", "notice"], "compartments": ["market-days"]}""";

    private const string Known = """
        "id": "wh_5f3kq0w9d2hm", "url": "https://hub.example/cash", "kinds": ["spend", "notice"], "compartments": ["market-days"], "state": "active", "line": 52
        """;

    private const string Message = """
        {"id": "wh_5f3kq0w9d2hm_line_53", "kind": "spend", "number": 53, "delivered": true, "attempts": 1, "lastAt": "2026-11-03T17:20:41.304210+00:00", "status": 204}
        """;

    private static readonly Bounds _limits = new(1, WebhookBook.DeliveriesKept, 100);

    public static void Map(IEndpointRouteBuilder api)
    {
        MapReads(api);
        MapWrites(api);
        MapChange(api);
        MapSecret(api);
        MapTries(api);
    }

    private static void MapReads(IEndpointRouteBuilder api)
    {
        api.MapGet("/webhooks", async (HttpContext http, Caller caller, WebhookBook webhooks, TimeProvider clock) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                var all = await webhooks.AllAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                return TypedResults.Ok(new WebhooksAnswer(
                    [.. all.Select(w => WebhookAnswer.Of(w, clock.GetUtcNow()))]));
            })
            .Produces<WebhooksAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden)
            .HasNoTag()
            .WithSummary("The webhooks: where lines and notices are sent")
            .WithExample(null, $$"""{"webhooks": [{ {{Known}} }]}""");

        api.MapGet("/webhooks/{id}", async (HttpContext http, Caller caller, string id, WebhookBook webhooks,
                TimeProvider clock) =>
            {
                Reads.OnlyTakes(http);
                return TypedResults.Ok(WebhookAnswer.Of(
                    await FindAsync(http, caller, id, webhooks).ConfigureAwait(false), clock.GetUtcNow()));
            })
            .Produces<WebhookAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
            .HasNoTag()
            .WithSummary("A webhook, and how it stands")
            .WithParameter("id", "Its id.", "wh_5f3kq0w9d2hm")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(null, $$"""{ {{Known}} }""");

        api.MapGet("/webhooks/{id}/deliveries", async (HttpContext http, Caller caller, string id, string? limit,
                WebhookBook webhooks) =>
            {
                Reads.OnlyTakes(http, "limit");
                var most = (int)Reads.Number(limit, "limit", _limits);
                await FindAsync(http, caller, id, webhooks).ConfigureAwait(false);
                var sent = await webhooks.DeliveriesAsync(caller.Household, id, most,
                    cancellation: http.RequestAborted).ConfigureAwait(false);
                return TypedResults.Ok(new DeliveriesAnswer([.. sent.Select(DeliveryAnswer.Of)]));
            })
            .Produces<DeliveriesAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
            .HasNoTag()
            .WithSummary("What a webhook sent lately, and what came of it")
            .WithParameter("id", "The webhook's id.", "wh_5f3kq0w9d2hm")
            .WithParameter("limit", $"So many at most, {_limits.Least} to {_limits.Most}; {_limits.Otherwise} if left "
                + "out.", "20", ParameterForm.Number(_limits))
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(null, $$"""{"deliveries": [{{Message}}]}""");
    }

    private static void MapWrites(IEndpointRouteBuilder api)
    {
        api.MapPost("/webhooks", async (HttpContext http, Caller caller, Body<WebhookRequest> body,
                WebhookBook webhooks, BookReader books, TimeProvider clock) =>
            {
                var sent = await CheckedAsync(http, caller, body.Value, books).ConfigureAwait(false);
                var webhook = new Webhook("wh_" + Guid.NewGuid().ToString("N")[..12], sent.Url!, sent.Kinds!,
                    sent.Compartments!)
                { Secret = WebhookBook.NewSecret() };
                if (!await webhooks.AddAsync(caller.Household, webhook, http.RequestAborted).ConfigureAwait(false))
                {
                    throw Refusal.Conflict("too-many", $"A household has at most {WebhookBook.Most} webhooks: remove "
                        + "one first.");
                }

                var begun = (await webhooks.FindAsync(caller.Household, webhook.Id, http.RequestAborted)
                    .ConfigureAwait(false))!;
                return TypedResults.Created($"/api/webhooks/{webhook.Id}",
                    WebhookAnswer.Of(begun, clock.GetUtcNow()) with { Secret = webhook.Secret });
            })
            .Accepts<WebhookRequest>("application/json")
            .Produces<WebhookAnswer>(StatusCodes.Status201Created)
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status409Conflict,
                StatusCodes.Status422UnprocessableEntity)
            .HasNoTag()
            .WithSummary("Have lines and notices sent somewhere; the secret is shown this once")
            .WithDescription("By the Standard Webhooks specification. It begins with the next line. Lines come in "
                + "their "
                + "order, each at least once, and again until the receiver answers 2xx: for three days, then it is "
                + "parked. "
                + "It is no line of the book. docs/hearing.md says more.")
            .WithExample(Form, $$"""{ {{Known}}, "secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"}""");

        api.MapDelete("/webhooks/{id}", async (HttpContext http, Caller caller, string id, WebhookBook webhooks,
                Alarms alarms) =>
            {
                Reads.OnlyTakes(http);
                await FindAsync(http, caller, id, webhooks).ConfigureAwait(false);
                await webhooks.RemoveAsync(caller.Household, id, http.RequestAborted).ConfigureAwait(false);
                await alarms.EndAsync(caller.Household, NoticeKind.WebhookParked, id, http.RequestAborted)
                    .ConfigureAwait(false);
                return TypedResults.NoContent();
            })
            .Produces(StatusCodes.Status204NoContent)
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
            .HasNoTag()
            .WithSummary("Send no more")
            .WithParameter("id", "The webhook's id.", "wh_5f3kq0w9d2hm")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(null, null);
    }

    private static void MapChange(IEndpointRouteBuilder api) => api
        .MapPut("/webhooks/{id}", async (HttpContext http, Caller caller, string id, Body<WebhookRequest> body,
                WebhookBook webhooks, BookReader books, Alarms alarms, TimeProvider clock) =>
            {
                var sent = await CheckedAsync(http, caller, body.Value, books).ConfigureAwait(false);
                await FindAsync(http, caller, id, webhooks).ConfigureAwait(false);
                await webhooks.ChangeAsync(caller.Household, id, sent.Url!, sent.Kinds!, sent.Compartments!,
                    http.RequestAborted).ConfigureAwait(false);
                await alarms.EndAsync(caller.Household, NoticeKind.WebhookParked, id, http.RequestAborted)
                    .ConfigureAwait(false);
                return TypedResults.Ok(WebhookAnswer.Of(
                    await FindAsync(http, caller, id, webhooks).ConfigureAwait(false), clock.GetUtcNow()));
            })
            .Accepts<WebhookRequest>("application/json")
            .Produces<WebhookAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound,
                StatusCodes.Status422UnprocessableEntity)
            .HasNoTag()
            .WithSummary("Say anew what a webhook sends and where to; one that is parked goes on")
            .WithParameter("id", "Its id.", "wh_5f3kq0w9d2hm")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(Form, $$"""{ {{Known}} }""");

    private static void MapSecret(IEndpointRouteBuilder api) => api
        .MapPost("/webhooks/{id}/secret", async (HttpContext http, Caller caller, string id, WebhookBook webhooks,
            TimeProvider clock) =>
        {
            Reads.OnlyTakes(http);
            await FindAsync(http, caller, id, webhooks).ConfigureAwait(false);
            var (secret, now) = (WebhookBook.NewSecret(), clock.GetUtcNow());
            await webhooks.RenewSecretAsync(caller.Household, id, secret, now, http.RequestAborted)
                .ConfigureAwait(false);
            return TypedResults.Ok(WebhookAnswer.Of(
                await FindAsync(http, caller, id, webhooks).ConfigureAwait(false), now) with
            { Secret = secret });
        })
        .Produces<WebhookAnswer>()
        .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
        .HasNoTag()
        .WithSummary("Renew a webhook's secret; it is shown this once")
        .WithDescription("For a day messages are signed with both.")
        .WithParameter("id", "The webhook's id.", "wh_5f3kq0w9d2hm")
        .NotToTry(Documented.OfOnesOwn)
        .WithExample(null,
            $$"""{ {{Known}}, "secret": "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD", "oldSecretUntil": "2026-11-04T17:20:41.304210+00:00"}""");

    private static void MapTries(IEndpointRouteBuilder api)
    {
        api.MapPost("/webhooks/{id}/test", async (HttpContext http, Caller caller, string id, WebhookBook webhooks,
                WebhookSender sender, TimeProvider clock) =>
            {
                Reads.OnlyTakes(http);
                var webhook = await FindAsync(http, caller, id, webhooks).ConfigureAwait(false);
                return TypedResults.Ok(DeliveryAnswer.Of(await sender.SendOnceAsync(caller.Household, webhook,
                    WebhookMessage.Test(webhook, clock.GetUtcNow()), http.RequestAborted).ConfigureAwait(false)));
            })
            .Produces<DeliveryAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
            .HasNoTag()
            .WithSummary("Send a message of the kind `test` now, once")
            .WithParameter("id", "The webhook's id.", "wh_5f3kq0w9d2hm")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(null, """
                {"id": "wh_5f3kq0w9d2hm_test_3fa94c0b71de", "kind": "test", "number": 0, "delivered": false, "attempts": 1, "lastAt": "2026-11-03T17:20:41.304210+00:00", "fault": "Connection refused"}
                """);

        api.MapPost("/webhooks/{id}/deliveries/{message}/again", async (HttpContext http, Caller caller, string id,
                string message, WebhookBook webhooks, WebhookSender sender, LineReader lines, NoticeBook notices,
                BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var webhook = await FindAsync(http, caller, id, webhooks).ConfigureAwait(false);
                var again = await AgainAsync(http, caller, webhook, message, webhooks, lines, notices, books)
                    .ConfigureAwait(false);
                return TypedResults.Ok(DeliveryAnswer.Of(await sender.SendOnceAsync(caller.Household, webhook, again,
                    http.RequestAborted).ConfigureAwait(false)));
            })
            .Produces<DeliveryAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
            .HasNoTag()
            .WithSummary("Send a message again now, once, with the same `webhook-id`")
            .WithParameter("id", "The webhook's id.", "wh_5f3kq0w9d2hm")
            .WithParameter("message", "The message's id.", "wh_5f3kq0w9d2hm_line_53")
            .NotToTry(Documented.OfOnesOwn)
            .WithExample(null, Message);
    }

    private static async Task<WebhookMessage> AgainAsync(HttpContext http, Caller caller, Webhook webhook,
        string message, WebhookBook webhooks, LineReader lines, NoticeBook notices, BookReader books)
    {
        var sent = (await webhooks.DeliveriesAsync(caller.Household, webhook.Id, 1, message, http.RequestAborted)
            .ConfigureAwait(false)).SingleOrDefault();
        if (sent is { Kind: "notice" } && (await notices.TellingsAfterAsync(caller.Household, sent.Number - 1, 1,
            http.RequestAborted).ConfigureAwait(false)) is [var (telling, notice), ..] && telling == sent.Number)
        {
            return WebhookMessage.Of(webhook, telling, notice);
        }

        if (sent is { Number: > 0, Kind: not "notice" } && await lines.FindAsync(caller.Household, sent.Number,
            http.RequestAborted).ConfigureAwait(false) is { } line)
        {
            var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            return WebhookMessage.Of(webhook, line, book);
        }

        throw Refusal.NotFound("delivery-unknown", $"No message '{message}' of this webhook is kept that could be sent "
            + "again.");
    }

    private static async Task<WebhookRequest> CheckedAsync(HttpContext http, Caller caller, WebhookRequest sent,
        BookReader books)
    {
        caller.MustKeep();
        var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
        return sent with
        {
            Kinds = [.. (sent.Kinds ?? []).Distinct()],
            Compartments = [.. (sent.Compartments ?? []).Distinct().Select(id => book.CompartmentNamed(id).Id)],
        };
    }

    private static async Task<Webhook> FindAsync(HttpContext http, Caller caller, string id, WebhookBook webhooks)
    {
        caller.MustKeep();
        return await webhooks.FindAsync(caller.Household, id, http.RequestAborted).ConfigureAwait(false)
            ?? throw Refusal.NotFound("webhook-unknown", $"There is no webhook '{id}': GET /api/webhooks lists them.");
    }
}
