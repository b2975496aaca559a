namespace CashEvents.Api.Paydays;

/// <summary>An address for the household's calendar.</summary>
/// <param name="CountEvery">How often a wallet with cash in it is to be counted, as an ISO 8601 duration of one unit;
/// P1M if left out.</param>
public sealed record CalendarAddressRequest(string? CountEvery);

/// <summary>The address of the household's calendar.</summary>
/// <param name="Made">When it was made.</param>
/// <param name="CountEvery">How often a wallet with cash in it is to be counted.</param>
public sealed record CalendarAddressAnswer(DateTimeOffset Made, string CountEvery)
{
    /// <summary>The address itself, shown this once; only a hash of it is kept.</summary>
    public string? Address { get; init; }

    internal static CalendarAddressAnswer Of(CalendarAddress address) =>
        new(address.Made, address.CountEvery.ToString());
}

internal sealed class CalendarAddressEndpoints : IEndpoints
{
    private const string EveryMonth = "P1M";
    private const string Kept = "\"made\": \"2026-11-15T12:00:00+00:00\", \"countEvery\": \"P1M\"";

    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/calendar-address", async (HttpContext http, Caller caller, CalendarAddresses addresses) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                return await addresses.OfAsync(caller.Household, http.RequestAborted).ConfigureAwait(false)
                    is { } address ? TypedResults.Ok(CalendarAddressAnswer.Of(address))
                    : throw Refusal.NotFound("calendar-address-missing",
                        "The household's calendar has no address: make one with POST /api/calendar-address.");
            })
            .Produces<CalendarAddressAnswer>()
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
            .HasNoTag()
            .NotToTry(Documented.OfOnesOwn)
            .WithSummary("When the secret address of the household's calendar was made")
            .WithExample(null, $$"""{ {{Kept}} }""");

        api.MapPost("/calendar-address", async (HttpContext http, Caller caller, Body<CalendarAddressRequest> body,
                CalendarAddresses addresses) =>
            {
                caller.MustKeep();
                var every = Period.Read(body.Value.CountEvery ?? EveryMonth, "countEvery");
                var (secret, address) = await addresses.RenewAsync(caller.Household, every, http.RequestAborted)
                    .ConfigureAwait(false);
                return TypedResults.Created("/api/calendar-address", CalendarAddressAnswer.Of(address) with
                {
                    Address = $"{http.Request.Scheme}://{http.Request.Host}{CalendarEndpoint.AddressOf(secret)}"
                });
            })
            .Accepts<CalendarAddressRequest>("application/json")
            .Produces<CalendarAddressAnswer>(StatusCodes.Status201Created)
            .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status422UnprocessableEntity)
            .HasNoTag()
            .WithSummary("Make the secret address of the household's calendar, or renew it")
            .WithDescription("The calendar (RFC 5545) has paydays, bills, saving steps, months' ends and counts due. "
                + "Who has its address reads it without a key, amounts included, and nothing else. The address before "
                + "ends at once. It is no line of the book.")
            .WithExample("""{"countEvery": "P1M"}""",
                $$"""{ {{Kept}}, "address": "http://127.0.0.1:5080/calendar/4f1c.ics"}""");

        api.MapDelete("/calendar-address", async (HttpContext http, Caller caller, CalendarAddresses addresses) =>
            {
                caller.MustKeep();
                await addresses.TakeAwayAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                return TypedResults.NoContent();
            })
            .Produces(StatusCodes.Status204NoContent)
            .RefusesReads(StatusCodes.Status403Forbidden)
            .HasNoTag()
            .WithSummary("Take the address of the household's calendar away")
            .WithExample(null, null);
    }
}
