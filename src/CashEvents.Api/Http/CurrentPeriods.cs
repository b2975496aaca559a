namespace CashEvents.Api.Http;

/// <summary>
/// Where an address that is read has a month or a week in it, the word <c>current</c> stands for the household's
/// present one. What is written names its own: around midnight a script could mean another than it closes.
/// </summary>
internal sealed class CurrentPeriods(RequestDelegate next, BookReader books, TimeProvider clock)
{
    private const string Current = "current";

    public async Task InvokeAsync(HttpContext context)
    {
        var asked = context.Request.RouteValues;
        if (HttpMethods.IsGet(context.Request.Method) && (Is(asked, "week") || Is(asked, "month")))
        {
            var household = (await books.ReadAsync(Caller.Of(context).Household, context.RequestAborted)
                .ConfigureAwait(false)).Household!;
            var today = household.DateAt(clock.GetUtcNow());
            if (Is(asked, "week"))
            {
                asked["week"] = $"{Week.Of(today, household.FirstDayOfWeek)}";
            }

            if (Is(asked, "month"))
            {
                asked["month"] = $"{Month.Of(today)}";
            }
        }

        await next(context).ConfigureAwait(false);
    }

    private static bool Is(RouteValueDictionary asked, string part) => asked.TryGetValue(part, out var word)
        && Current.Equals(word as string, StringComparison.Ordinal);
}
