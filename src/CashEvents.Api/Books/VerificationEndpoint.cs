namespace CashEvents.Api.Books;

/// <summary>
/// Whether each line of the book still says what it said when it was written, and balances, sheets and keys are what
/// the lines give.
/// </summary>
/// <param name="Agrees">Whether all lines agree with their hashes, and what is kept beside them is what they
/// give.</param>
public sealed record VerificationAnswer(bool Agrees)
{
    /// <summary>How many lines the book has, when they agree.</summary>
    public long? Lines { get; init; }

    /// <summary>
    /// Hash of the last line, when they agree. Kept elsewhere, on paper for instance, it shows later whether these
    /// lines have changed since.
    /// </summary>
    public string? Hash { get; init; }

    /// <summary>
    /// How many lines, from the first, were written before lines had a hash; absent when there are none. The first hash
    /// after them covers them as they stood then.
    /// </summary>
    public long? WithoutHash { get; init; }

    /// <summary>The first line that does not agree; of a missing line, its number.</summary>
    public long? Line { get; init; }

    /// <summary>Why it does not agree.</summary>
    public string? Reason { get; init; }

    /// <summary>
    /// How many fields that are kept beside the lines do not say what the lines give; absent when there are none.
    /// Compared only when the lines agree.
    /// </summary>
    public int? Drifts { get; init; }

    /// <summary>Where they stand: tables, or the page of the book.</summary>
    public IReadOnlyList<string>? Drifted { get; init; }

    internal static VerificationAnswer Of(ChainFinding finding) => finding.Misfit is { } misfit
        ? new VerificationAnswer(false) { Line = misfit.Line, Reason = misfit.Reason }
        : new VerificationAnswer(finding.Agrees)
        {
            Drifts = finding.Agrees ? null : finding.Drifts.Count,
            Drifted = finding.Agrees ? null : finding.Drifted,
            Reason = finding.Agrees
                ? null
                : "The lines agree, but what is kept beside them is not what they give: POST /api/rebuilds tells each "
                    + "field and puts it right.",
            Lines = finding.Lines,
            Hash = finding.Hash,
            WithoutHash = finding.WithoutHash > 0 ? finding.WithoutHash : null,
        };
}

internal sealed class VerificationEndpoint : IEndpoints
{
    // Without an ETag: a row that somebody changed leaves the book's line number as it was.
    public static void Map(IEndpointRouteBuilder api) => api
        .MapGet("/verification", async (HttpContext http, Caller caller, VerificationReader verification,
            Alarms alarms) =>
        {
            Reads.OnlyTakes(http);
            var finding = await verification.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            await BrokenChain.TellAsync(alarms, caller.Household, finding, http.RequestAborted).ConfigureAwait(false);
            return TypedResults.Ok(VerificationAnswer.Of(finding));
        })
        .IsHeavy()
        .Produces<VerificationAnswer>()
        .HasNoTag()
        .RefusesReads()
        .WithSummary("Whether the lines of the book agree with their hashes, and balances and sheets with the lines")
        .WithDescription("Walks the book from line 1, so the work grows with it, and changes nothing. The first line "
            + "that does "
            + "not agree is named. What is kept beside the lines is made anew from them and compared. A line that "
            + "was changed, removed, inserted or moved in the database no longer agrees. Who can write the database "
            + "could compute every hash anew: only a hash that was kept elsewhere, such as on a printed sheet, shows "
            + "that.")
        .WithExample(null, """
            {"agrees": true, "lines": 812, "hash": "a0aad21c90638f2fb7a4072c067f3d9603afcc11752d53c3844895b783e36b43"}
            """);
}
