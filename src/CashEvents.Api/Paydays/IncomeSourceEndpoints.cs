using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>An income source, described whole.</summary>
/// <param name="Label">As people call it.</param>
/// <param name="Rule">When it pays: a recurrence rule of RFC 5545, such as <c>FREQ=MONTHLY;BYMONTHDAY=-1</c>, that
/// tells days.</param>
/// <param name="First">The first nominal payday, one of the rule's days.</param>
/// <param name="NotBankDay">Whether it pays on the previous or the next bank day when a nominal payday is none.</param>
/// <param name="Amount">What it pays each time; left out when it pays as it comes.</param>
public sealed record IncomeSourceRequest(string? Label, string? Rule, DateOnly? First, NotBankDay? NotBankDay,
    decimal? Amount)
{
    /// <exception cref="Domain.Naming.RefusalException">The rule can't be read, or does not name the first
    /// day.</exception>
    internal SetIncomeSource ToCommand(string id) =>
        new(id, Label!, RecurrenceRules.Read(Rule!, First!.Value), NotBankDay!.Value, Amount);
}

/// <summary>An income source.</summary>
/// <param name="Source">Its id.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Rule">Its recurrence rule.</param>
/// <param name="First">The first nominal payday.</param>
/// <param name="NotBankDay">Whether it pays on the previous or the next bank day when a nominal payday is none.</param>
/// <param name="Amount">What it pays each time; absent when it pays as it comes.</param>
public sealed record IncomeSourceAnswer(string Source, string Label, string Rule, DateOnly First, NotBankDay NotBankDay,
    decimal? Amount)
{
    internal static IncomeSourceAnswer Of(IncomeSource source, Currency? currency) => new(
        source.Id, source.Label, source.Recurrence.Rule, source.Recurrence.First, source.NotBankDay,
        source.Amount is { } amount ? currency!.ToDecimal(amount) : null);
}

/// <summary>The household's income sources.</summary>
/// <param name="IncomeSources">By id.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record IncomeSourcesAnswer(IReadOnlyList<IncomeSourceAnswer> IncomeSources, long BookLine);

/// <summary>What setting an income source wrote.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="Source">Its id.</param>
public sealed record IncomeSourceSetAnswer(IReadOnlyList<long> Lines, long? EntryId, string Source)
{
    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class IncomeSourceRequestValidator : AbstractValidator<IncomeSourceRequest>
{
    public IncomeSourceRequestValidator()
    {
        RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what the source is called.");
        RuleFor(r => r.Rule).NotEmpty()
            .WithMessage("`rule` is needed: a recurrence rule of RFC 5545, such as \"FREQ=MONTHLY;BYMONTHDAY=-1\".");
        RuleFor(r => r.First).NotNull()
            .WithMessage("`first` is needed: the first nominal payday, such as \"2026-09-30\".");
        RuleFor(r => r.NotBankDay).NotNull()
            .WithMessage("`notBankDay` is needed: \"previous\" or \"next\", for a payday that is no bank day.");
    }
}

internal sealed class IncomeSourceEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/income-sources", async (HttpContext http, Caller caller, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(new IncomeSourcesAnswer(
                    [.. book.IncomeSources.Values.OrderBy(s => s.Id, StringComparer.Ordinal)
                        .Select(s => IncomeSourceAnswer.Of(s, book.Household!.Currency))], book.Line));
            })
            .Produces<IncomeSourcesAnswer>()
            .RefusesReads()
            .WithSummary("Who pays, when and how much")
            .WithExample(null, """
                {"incomeSources": [
                   {"source": "harbour-office", "label": "Harbour office", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 2400.00},
                   {"source": "net-mending", "label": "Net mending", "rule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=FR", "first": "2026-09-04", "notBankDay": "next"}],
                 "bookLine": 70}
                """);

        api.MapPut("/income-sources/{id}",
            async (HttpContext http, Caller caller, string id, Body<IncomeSourceRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var (entry, _) = await desk.WriteAsync(http, body.Value.ToCommand(id), $"income source {id}",
                    body.Value).ConfigureAwait(false);
                return TypedResults.Ok(new IncomeSourceSetAnswer(entry.Lines, entry.Id, id)
                {
                    Note = entry.Lines.IsEmpty ? "It is set like this already. Nothing was written." : null,
                });
            })
            .Accepts<IncomeSourceRequest>("application/json")
            .Produces<IncomeSourceSetAnswer>()
            .RefusesWrites()
            .WithSummary("Set an income source: when it pays, how much, and what it does when that is no bank day")
            .WithDescription("`rule` is a recurrence rule of RFC 5545 (section 3.3.10) that tells days. FREQ is "
                + "DAILY, WEEKLY, MONTHLY or YEARLY. With it may stand INTERVAL, COUNT or UNTIL (a day), "
                + "BYMONTH, BYWEEKNO, BYYEARDAY, BYMONTHDAY, BYDAY, BYSETPOS and WKST. `first` is the first of "
                + "its days. Without `amount` the source pays as it comes. The same id again replaces what was "
                + "set before, for past paydays too.")
            .WithParameter("id", "The source's id: small letters and digits with hyphens between.", "boat-hire")
            .WithExample(
                """{"label": "Boat hire", "rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "first": "2026-09-30", "notBankDay": "previous", "amount": 240.00}""",
                """{"lines": [70], "entryId": 70, "source": "boat-hire"}""");

        api.MapDelete("/income-sources/{id}", async (HttpContext http, Caller caller, string id, WriteDesk desk) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                await desk.WriteAsync(http, new EndIncomeSource(id), $"end income source {id}", id)
                    .ConfigureAwait(false);
                return TypedResults.NoContent();
            })
            .Produces(StatusCodes.Status204NoContent)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("End an income source: its paydays are no longer told")
            .WithDescription("If its last payday is known, set it again with UNTIL in its rule instead. Earlier "
                + "paydays are told then.")
            .WithParameter("id", "The source's id: small letters and digits with hyphens between.", "boat-hire")
            .WithExample(null, null);
    }
}

/// <summary>A line of the kind <c>incomeSourceSet</c>.</summary>
public sealed record IncomeSourceSetLine : LineAnswer, ILineOf<IncomeSourceSet>
{
    /// <summary>The income source it is about.</summary>
    public required string Source { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    /// <summary>Recurrence rule (RFC 5545) of an income source or standing payment.</summary>
    public required string Rule { get; init; }

    /// <summary>The first day of that recurrence.</summary>
    public required DateOnly First { get; init; }

    /// <summary>When its money moves if the day is no bank day.</summary>
    public required NotBankDay NotBankDay { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public decimal? Amount { get; init; }

    static LineAnswer ILineOf<IncomeSourceSet>.Of(IncomeSourceSet e, LineTelling told) =>
        new IncomeSourceSetLine
        {
            Source = e.Source,
            Label = e.Label,
            Rule = e.Rule,
            First = e.First,
            NotBankDay = e.NotBankDay,
            Amount = e.Amount is { } pay ? told.Say(pay) : null
        };
}

/// <summary>A line of the kind <c>incomeSourceEnded</c>.</summary>
public sealed record IncomeSourceEndedLine : LineAnswer, ILineOf<IncomeSourceEnded>
{
    /// <summary>The income source it is about.</summary>
    public required string Source { get; init; }

    static LineAnswer ILineOf<IncomeSourceEnded>.Of(IncomeSourceEnded e, LineTelling told) =>
        new IncomeSourceEndedLine { Source = e.Source };
}
