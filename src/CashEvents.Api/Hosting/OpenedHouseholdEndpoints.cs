using System.Globalization;
using FluentValidation;

namespace CashEvents.Api.Hosting;

/// <summary>A household whose book is to be opened.</summary>
/// <param name="Name">As people call it; its id is made from this.</param>
public sealed record NewHouseholdRequest(string? Name);

/// <summary>A household whose book is on this server.</summary>
/// <param name="Household">Its id, made from its first name.</param>
/// <param name="Name">As people call it now.</param>
/// <param name="Line">The book's last line.</param>
public sealed record OpenedHouseholdAnswer(string Household, string Name, long Line);

/// <summary>The households whose books are on this server.</summary>
/// <param name="Households">By id.</param>
/// <param name="Next">Address of the next page; absent on the last.</param>
public sealed record OpenedHouseholdsAnswer(IReadOnlyList<OpenedHouseholdAnswer> Households, string? Next);

/// <summary>A household whose book was opened.</summary>
/// <param name="Household">Its id.</param>
/// <param name="Name">As people call it.</param>
/// <param name="Key">Its keeper's key, shown this once; only its hash is kept.</param>
public sealed record NewHouseholdAnswer(string Household, string Name, string Key)
{
    /// <summary>Said where the key takes the place of an earlier one.</summary>
    public string? Note { get; init; }
}

internal sealed class NewHouseholdRequestValidator : AbstractValidator<NewHouseholdRequest>
{
    public NewHouseholdRequestValidator() =>
        RuleFor(r => r.Name).NotEmpty().WithMessage("`name` is needed: what the household is called.");
}

internal sealed class OpenedHouseholdEndpoints : IEndpoints
{
    /// <summary>The address of all of them; only the server's key opens it and those below it.</summary>
    public const string Address = "/api/households";

    private const string Tag = "Server";
    private const string ServersKey = "It takes the server's key, which is kept in the data folder.";
    private static readonly Bounds _limits = new(1, 1000, 100);

    private const string One = """{"household": "lighthouse-lane", "name": "Lighthouse Lane", "line": 2}""";

    public static void Map(IEndpointRouteBuilder api)
    {
        MapOpening(api);
        MapList(api);
        MapOne(api);
    }

    private static void MapOpening(IEndpointRouteBuilder api) => api
        .MapPost("/households", async (Body<NewHouseholdRequest> body, Opening opening) =>
        {
            var name = body.Value.Name!.Trim();
            var (key, again) = await opening.AddAsync(name).ConfigureAwait(false);
            var household = Slug.From(name);
            var answer = new NewHouseholdAnswer(household, name, key)
            {
                Note = again
                    ? "It has a book already, with nothing in it. The key from before no longer opens it."
                    : null,
            };
            return TypedResults.Created($"{Address}/{household}", answer);
        })
        .Accepts<NewHouseholdRequest>("application/json")
        .Produces<NewHouseholdAnswer>(StatusCodes.Status201Created)
        .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status409Conflict,
            StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Open another household's book, as add-household does")
        .WithDescription($"{ServersKey} Sent again while nothing but its opening stands in the book, it gives another "
            + "key, since the first may never have been seen.")
        .NotToTry("it takes the server's key.")
        .WithExample("""{"name": "Lighthouse Lane"}""",
            """{"household": "lighthouse-lane", "name": "Lighthouse Lane", "key": "ce_x3Jq0c5xk2mU1h7b9Wn4s8tVpQ6yZ0aLrE2dFgHiJkM"}""");

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/households", async (HttpContext http, string? after, string? limit, KeyRing keys, BookReader books) =>
        {
            Reads.OnlyTakes(http, "after", "limit");
            var most = (int)Reads.Number(limit, "limit", _limits);
            var known = (await keys.HouseholdsAsync(http.RequestAborted).ConfigureAwait(false))
                .Where(id => string.CompareOrdinal(id, after ?? "") > 0).Order(StringComparer.Ordinal).Take(most + 1)
                .ToList();
            var page = new List<OpenedHouseholdAnswer>();
            foreach (var id in known.Take(most))
            {
                page.Add(await ReadAsync(id, books, http.RequestAborted).ConfigureAwait(false));
            }

            var next = known.Count > most
                ? string.Create(CultureInfo.InvariantCulture,
                    $"{Address}?after={Uri.EscapeDataString(page[^1].Household)}&limit={most}")
                : null;
            if (next is not null)
            {
                Answers.LinkNext(http, next);
            }

            return TypedResults.Ok(new OpenedHouseholdsAnswer(page, next));
        })
        .Produces<OpenedHouseholdsAnswer>()
        .RefusesReads(StatusCodes.Status403Forbidden)
        .WithSummary("The households whose books are on this server")
        .WithDescription($"{ServersKey} By id, page by page; of the books it tells the last line alone.")
        .WithParameter("after", "Only ids after this one.", "harbour-row")
        .WithParameter("limit", $"At most so many, 1 to {_limits.Most}; {_limits.Otherwise} if left out.", "50",
            ParameterForm.Number(_limits))
        .NotToTry("it takes the server's key.")
        .WithExample(null, $$"""{"households": [{{One}}]}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/households/{id}", async (HttpContext http, string id, KeyRing keys, BookReader books) =>
        {
            Reads.OnlyTakes(http);
            return (await keys.HouseholdsAsync(http.RequestAborted).ConfigureAwait(false)).Contains(id)
                ? TypedResults.Ok(await ReadAsync(id, books, http.RequestAborted).ConfigureAwait(false))
                : throw Refusal.NotFound("household-unknown", $"There is no household '{id}' on this server.");
        })
        .Produces<OpenedHouseholdAnswer>()
        .RefusesReads(StatusCodes.Status403Forbidden, StatusCodes.Status404NotFound)
        .WithSummary("One household whose book is on this server")
        .WithDescription(ServersKey)
        .WithParameter("id", "The household's id.", "lighthouse-lane")
        .NotToTry("it takes the server's key.")
        .WithExample(null, One);

    private static async Task<OpenedHouseholdAnswer> ReadAsync(string id, BookReader books,
        CancellationToken cancellation)
    {
        var book = await books.ReadAsync(id, cancellation).ConfigureAwait(false);
        return new OpenedHouseholdAnswer(id, book.Household?.Name ?? "", book.Line);
    }
}
