using System.Text;

namespace CashEvents.Api.Paydays;

/// <summary>
/// The household's calendar, under an address that is secret by itself: a calendar program sends no key. It tells what
/// a viewer may read, and of that the days ahead alone.
/// </summary>
internal static class CalendarEndpoint
{
    private const string Root = "/calendar";
    private const int MonthsAhead = 12;
    private const string MediaType = "text/calendar; charset=utf-8";

    /// <summary>Where the calendar of a secret is.</summary>
    public static string AddressOf(string secret) => $"{Root}/{secret}.ics";

    /// <summary>Whether a request is for a calendar: its path is a secret.</summary>
    public static bool IsSecret(PathString path) =>
        path.StartsWithSegments(Root, StringComparison.OrdinalIgnoreCase);

    public static void MapCalendar(this IEndpointRouteBuilder app) => app
        .MapGet(Root + "/{secret}.ics", async (HttpContext http, FillRunReader books, CalendarAddresses addresses,
            TimeProvider clock) =>
        {
            var address = (CalendarAddress)http.Items[typeof(CalendarAddress)]!;
            var book = await books.ReadBookAsync(address.Household, http.RequestAborted).ConfigureAwait(false);
            var dates = DatesOf(book, address, book.Household!.DateAt(clock.GetUtcNow()));
            var entries = dates.Select(date => CalendarWords.Of(date, book)).ToList();
            var revisions = await addresses.ReviseAsync(address.Household,
                entries.ToDictionary(entry => entry.Id, entry => entry.Fingerprint), http.RequestAborted)
                .ConfigureAwait(false);
            Answers.StampLine(http, book.Line);
            // Whoever has it asks each time whether it still is so.
            http.Response.Headers.CacheControl = "private, no-cache";
            return TypedResults.Text(CalendarFile.Of(book.Household, address.Id, entries, revisions), MediaType,
                Encoding.UTF8);
        })
        .AddEndpointFilter<TaggedReads>()
        .AddEndpointFilter(LetInAsync)
        .IsHeavy()
        .ExcludeFromDescription();

    private static IReadOnlyList<DateAhead> DatesOf(Book book, CalendarAddress address, DateOnly today)
    {
        var (to, calendar) = (today.AddMonths(MonthsAhead), HouseholdCalendar.Of(book.Household!.Country));
        return DatesAhead.Of(book, today, to, address.CountEvery, Ahead(), calendar);

        // One that would take too long is left out, and the days are told without it.
        Outlook? Ahead()
        {
            try
            {
                return book.Household.Currency is null ? null : Outlook.Of(book, today, to, calendar);
            }
            catch (RefusalException)
            {
                return null;
            }
        }
    }

    // The address stands for a key that reads; wrong ones count as wrong keys do.
    private static async ValueTask<object?> LetInAsync(EndpointFilterInvocationContext context,
        EndpointFilterDelegate next)
    {
        var http = context.HttpContext;
        var services = http.RequestServices;
        var secret = (string)http.GetRouteValue("secret")!;
        using var look = services.GetRequiredService<WrongKeys>().Look(http, secret);
        if (!look.IsFree)
        {
            return WrongKeys.TooMany(http);
        }

        if (await services.GetRequiredService<CalendarAddresses>().FindAsync(secret, http.RequestAborted)
            .ConfigureAwait(false) is not { } address)
        {
            return await look.WasWrongAsync().ConfigureAwait(false) ? WrongKeys.TooMany(http)
                : Problems.Of(StatusCodes.Status404NotFound, "calendar-unknown",
                    "No calendar has this address: it was renewed or taken away, or is mistyped. A keeper makes "
                        + "another with POST /api/calendar-address.");
        }

        look.WasRight();
        if (services.GetRequiredService<Upgrading>().LeftOut.Contains(address.Household))
        {
            return KeyMiddleware.LeftOut(http);
        }

        Reads.OnlyTakes(http);
        http.Items[typeof(CalendarAddress)] = address;
        http.Items[typeof(Caller)] = new Caller(address.Household, new Key("calendar", Role.Viewer, [], "", 0));
        return await next(context).ConfigureAwait(false);
    }
}
