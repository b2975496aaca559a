namespace CashEvents.Api.Books;

internal sealed class RehearsalEndpoint : IEndpoints
{
    // A rehearsal is not asked why; what would be written would be.
    private const string Reason = "Supposed";

    public static void Map(IEndpointRouteBuilder api) => api
        .MapPost("/rehearsals", async (HttpContext http, Caller caller, Body<RehearsalRequest> body, BookReader books,
            LineReader lines, TrackerReader trackers, TimeProvider clock) =>
        {
            Check(http.RequestServices, body.Value.Suppose!);
            var book = await books.ReadWholeAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            try
            {
                var suppositions = new List<Supposition>();
                foreach (var supposed in body.Value.Suppose!)
                {
                    suppositions.Add(await ReadAsync(supposed, $"suppose[{suppositions.Count}]", caller.Name, Written)
                        .ConfigureAwait(false));
                }

                var rehearsal = Rehearsal.Of(book, suppositions, book.Household!.DateAt(clock.GetUtcNow()));
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(await RehearsalAnswer.OfAsync(rehearsal, (compartment, from, opening, most) =>
                    trackers.ReadSinceAsync(caller.Household, compartment, from, opening, book.Line, most,
                        http.RequestAborted)).ConfigureAwait(false));
            }
            catch (RefusalException refused)
            {
                throw new RefusedException(refused.Refusal, book.Household?.Currency);
            }

            // A line written since the book was read is not in it, so it is not known here either.
            async Task<IBookEvent> Written(long n) =>
                (n <= book.Line
                    ? await lines.FindAsync(caller.Household, n, http.RequestAborted).ConfigureAwait(false)
                    : null)?.Event ?? throw LineEndpoints.Unknown(n, book);
        })
        .Accepts<RehearsalRequest>("application/json")
        .IsHeavy()
        .Produces<RehearsalAnswer>()
        .RefusesReads(StatusCodes.Status409Conflict, StatusCodes.Status422UnprocessableEntity)
        .WithSummary("Rehearse: what the balances, sheets and counts would be if lines were reversed, amended or "
            + "recorded, or a payday filled")
        .WithDescription("Writes nothing; any key may rehearse. What is supposed follows the rules that hold when it "
            + "is "
            + "written, one thing after another. If one would be refused, the answer is that refusal. A payday is "
            + "filled on the book that the suppositions before it leave: undo a run first to see what other pay "
            + "would have come to. Supposed rows have their place in the list instead of a line.")
        .WithExample(
            """{"suppose": [{"reverse": 41}, {"amend": 55, "replacement": {"kind": "spend", "compartment": "ferry-fares", "amount": 9.40}}, {"record": {"kind": "fill", "compartment": "ferry-fares", "amount": 60.00}}]}""",
            """
            {"bookLine": 61,
             "balances": {"line": 61, "currency": "EUR",
               "compartments": [{"compartment": "ferry-fares", "label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending", "cash": 63.00, "bank": 0.00, "total": 63.00}],
               "wallets": [{"wallet": "oilskin-wallet", "label": "Oilskin wallet", "cash": 63.00, "bank": 0.00, "total": 63.00}],
               "household": {"name": "Harbour Row", "cash": 63.00, "bank": 0.00, "total": 63.00}},
             "changes": [{"compartment": "ferry-fares", "holding": "cash", "now": 64.00, "then": 63.00, "change": -1.00}],
             "trackers": [{"compartment": "ferry-fares", "label": "Ferry fares", "from": "2026-11-02", "openingBalance": 12.40,
               "rows": [
                 {"date": "2026-11-02", "kind": "fill", "holding": "cash", "description": "November pay", "amount": 60.00, "balance": 72.40, "line": 41},
                 {"date": "2026-11-02", "kind": "reversal", "holding": "cash", "description": "Supposed", "amount": -60.00, "balance": 12.40, "supposed": 0, "reverses": 41},
                 {"date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "Return to the mainland", "amount": -8.40, "balance": 4.00, "line": 55},
                 {"date": "2026-11-03", "kind": "reversal", "holding": "cash", "description": "Supposed", "amount": 8.40, "balance": 12.40, "supposed": 1, "reverses": 55},
                 {"date": "2026-11-03", "kind": "spend", "holding": "cash", "description": "", "amount": -9.40, "balance": 3.00, "supposed": 1, "amends": 55},
                 {"date": "2026-11-04", "kind": "fill", "holding": "cash", "description": "", "amount": 60.00, "balance": 63.00, "supposed": 2}],
               "closingBalance": 63.00}],
             "counts": [{"compartment": "ferry-fares", "holding": "cash", "occurredOn": "2026-11-04", "counted": 63.00, "expected": 3.00, "difference": 60.00,
               "settled": false, "agrees": false, "countId": 61, "expectedNow": 64.00, "differenceNow": -1.00}]}
            """);

    private static async Task<Supposition> ReadAsync(SuppositionRequest supposed, string path, string by,
        Func<long, Task<IBookEvent>> written)
    {
        if (supposed.Record is { } movement)
        {
            return new Supposition($"{path}.record", movement.ToCommand().SignedBy(by));
        }

        if (supposed.FillRun is { } run)
        {
            return new Supposition($"{path}.fillRun", run.ToCommand());
        }

        try
        {
            return new Supposition(path, supposed.Reverse is { } reversed
                ? new ReverseLine(reversed, await written(reversed).ConfigureAwait(false), Reason)
                : new AmendLine(supposed.Amend!.Value, await written(supposed.Amend.Value).ConfigureAwait(false),
                    supposed.Replacement!.ToCommand(), Reason).SignedBy(by));
        }
        catch (RefusalException unknown)
        {
            throw new RefusalException(
                unknown.Refusal.Within($"{path}.{(supposed.Reverse is null ? "amend" : "reverse")}"));
        }
    }

    private static void Check(IServiceProvider services, IReadOnlyList<SuppositionRequest> suppositions)
    {
        for (var i = 0; i < suppositions.Count; i++)
        {
            if (suppositions[i].Replacement is { } replacement)
            {
                Validation.CheckWithin(services, replacement, $"suppose[{i}].replacement");
            }

            if (suppositions[i].Record is { } movement)
            {
                Validation.CheckWithin(services, movement, $"suppose[{i}].record");
            }

            if (suppositions[i].FillRun is { } run)
            {
                Validation.CheckWithin(services, run, $"suppose[{i}].fillRun");
            }
        }
    }
}
