using System.Reflection;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.AspNetCore.Mvc.ApiExplorer;
using Microsoft.OpenApi;
using Swashbuckle.AspNetCore.SwaggerGen;

namespace CashEvents.Api.Http;

/// <summary>
/// The document's tags are the rooms of the code, in the order in which a household meets them, each with a sentence.
/// </summary>
internal sealed class Rooms : IDocumentFilter
{
    private static readonly (string Name, string Sentence)[] _inOrder =
    [
        ("Households", "The household itself, its wallets and compartments, and the keys by which others may write."),
        ("Movements", "What happens to money every day: it is filled, spent, refunded, transferred and swept, and "
            + "what was written wrong is corrected."),
        ("Counts", "Notes and coins are counted, and the bank states what it holds. What disagrees is explained and "
            + "settled."),
        ("Paydays", "When pay comes, what is paid on fixed days, what each compartment then gets, and in which notes."),
        ("Plans", "What is meant to be spent in a week, saved step by step, or put aside for bills by their due days."),
        ("Custody", "Where the wallets lie, and who carries cash out of the house."),
        ("Months", "What there is, and the sheets of a compartment and of a month, up to its closing."),
        ("Books", "The lines themselves, what others would have made of them, and whether they agree with their "
            + "hashes."),
        ("Notices", "What a household is told of, and where else that goes."),
        ("Hosting", "Whether the program runs and can serve."),
    ];

    /// <summary>The rooms, the first to be met first.</summary>
    public static IEnumerable<string> InOrder => _inOrder.Select(room => room.Name);

    /// <summary>The room of an address: that of what is sent to it, or else of the code that answers.</summary>
    public static string Of(ApiDescription address)
    {
        var said = address.ActionDescriptor.EndpointMetadata;
        var sent = said.OfType<IAcceptsMetadata>().LastOrDefault()?.RequestType;
        var of = sent?.Assembly == typeof(Rooms).Assembly ? sent : said.OfType<MethodInfo>().First().DeclaringType!;
        return of.Namespace!.Split('.')[^1];
    }

    /// <summary>By which addresses are put in order.</summary>
    public static string Place(ApiDescription address) =>
        $"{Array.FindIndex(_inOrder, room => room.Name == Of(address)):00}";

    public void Apply(OpenApiDocument swaggerDoc, DocumentFilterContext context) =>
        swaggerDoc.Tags = _inOrder.Select(room => new OpenApiTag { Name = room.Name, Description = room.Sentence })
            .ToHashSet();
}
