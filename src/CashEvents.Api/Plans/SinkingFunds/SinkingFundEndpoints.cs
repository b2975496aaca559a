using System.Globalization;
using FluentValidation;

namespace CashEvents.Api.Plans;

/// <summary>How a sinking fund is kept.</summary>
/// <param name="BankPercent">How much of each contribution goes to the bank, a whole number from 0 to 100; the rest is
/// kept in cash.</param>
/// <param name="InterestPercent">What the bank part earns in a year: a nominal rate in percent with at most two
/// decimals; 0 if left out.</param>
public sealed record FundTermsRequest(int? BankPercent, decimal? InterestPercent)
{
    /// <summary>What it asks the book to write.</summary>
    internal SetFundTerms ToCommand(string fund) => new(fund, BankPercent!.Value, InterestPercent ?? 0m);
}

/// <summary>How a sinking fund is kept, as it was written.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="Compartment">The fund.</param>
/// <param name="BankPercent">How much of each contribution goes to the bank.</param>
/// <param name="InterestPercent">What the bank part earns in a year.</param>
public sealed record FundTermsAnswer(IReadOnlyList<long> Lines, long? EntryId, string Compartment, int BankPercent,
    decimal InterestPercent);

internal sealed class FundTermsRequestValidator : AbstractValidator<FundTermsRequest>
{
    public FundTermsRequestValidator() =>
        RuleFor(r => r.BankPercent).NotNull()
            .WithMessage("`bankPercent` is needed: how much of each contribution goes to the bank, a whole number from "
                + "0 to 100.");
}

internal sealed class SinkingFundEndpoints : IEndpoints
{
    private const string Figures =
        "Bills of the next five years are met, and at least one more of each goal. Contributions are counted by "
        + "paydays to come, or by the first of each month while none is known; a fill run puts them in by the rule "
        + "`contribution`. Interest is the yearly nominal rate by days (actual/365 fixed, 2006 ISDA Definitions, "
        + "section 4.16(d)), credited on each payday after the next in whole minor units. A bank may count otherwise.";

    private const string Fund = """
        "compartment": "boat-insurance", "label": "Boat insurance", "cash": 200.00, "bank": 0.00, "there": 200.00, "bankPercent": 0, "interestPercent": 0,
        "nextBills": [{"goal": "hull-insurance", "label": "Hull insurance", "due": "2027-04-01", "amount": 480.00, "paydays": 5, "alone": 96.00}],
        "levelContribution": 56.00, "atOnce": 0.00, "shouldBeThere": 280.00, "onTrack": false, "behind": 80.00, "mend": {"now": 80.00, "orEachPayday": 56.00}
        """;

    private static readonly string[] Heading =
        ["on", "contribution", "toCash", "toBank", "interest", "bills", "billsTotal", "cash", "bank", "balance"];

    public static void Map(IEndpointRouteBuilder api)
    {
        MapList(api);
        MapOne(api);
        MapTerms(api);
    }

    private static void MapList(IEndpointRouteBuilder api) => api
        .MapGet("/sinking-funds", async (HttpContext http, Caller caller, FillRunReader books, TimeProvider clock) =>
        {
            Reads.OnlyTakes(http);
            var book = await books.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
            var today = book.Household!.DateAt(clock.GetUtcNow());
            var paydays = FundPaydays.Of(book, today);
            Answers.StampLine(http, book.Line);
            return TypedResults.Ok(new SinkingFundsAnswer(
                [.. book.Compartments.Values.Where(c => c is { Closed: false, Purpose: Purpose.SinkingFund })
                    .OrderBy(c => c.Line).Select(c => SinkingFundAnswer.Of(book, c, paydays, today, to: null))],
                paydays.Next, book.Line)
            {
                Note = paydays.Note,
            });
        })
        .IsHeavy()
        .Produces<SinkingFundsAnswer>()
        .RefusesReads()
        .WithSummary("The sinking funds: the level contribution of each, whether it is on track, and the least "
            + "that mends it")
        .WithDescription("The figures are those of `/sinking-funds/{id}`.")
        .WithExample(null, $$"""{"sinkingFunds": [{ {{Fund}} }], "nextPayday": "2026-12-01", "bookLine": 64}""");

    private static void MapOne(IEndpointRouteBuilder api) => api
        .MapGet("/sinking-funds/{id}",
            async (HttpContext http, Caller caller, string id, string? to, FillRunReader books, TimeProvider clock) =>
            {
                Reads.OnlyTakes(http, "to");
                var book = await books.ReadBookAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                var today = book.Household!.DateAt(clock.GetUtcNow());
                var fund = book.SinkingFundNamed(id);

                var answer = SinkingFundAnswer.Of(book, fund, FundPaydays.Of(book, today), today, Horizon(to, today));
                Answers.StampLine(http, book.Line);
                return Forms.Of(http, Form.Csv) == Form.Csv
                    ? await Csv.OfAsync(Heading, answer.Schedule!.Select(Cells)).ConfigureAwait(false)
                    : TypedResults.Ok(answer);
            })
        .IsHeavy()
        .Produces<SinkingFundAnswer>(StatusCodes.Status200OK, "application/json", "text/csv")
        .RefusesReads(StatusCodes.Status404NotFound)
        .WithSummary("A sinking fund with its schedule by paydays and due dates")
        .WithDescription($"The schedule goes up to `to`, a year ahead if left out and "
                + $"{SinkingFund.YearsAhead} years at most. The level contribution is paid in until the bill that asks "
                + "for it is met, then what the later ones ask for. The last payment before each step carries the "
                + "rounding. " + Figures)
        .WithParameter("id", "The compartment's id.", "boat-insurance")
        .WithParameter("to",
            "The last day of the schedule, five years ahead at most; a year ahead if left out.", "2027-12-31",
            ParameterForm.Day)
        .WithExample(null, $$"""
            { {{Fund}},
             "schedule": [{"on": "2026-12-01", "contribution": 56.00, "toCash": 56.00, "toBank": 0.00, "interest": 0.00, "bills": [], "cash": 256.00, "bank": 0.00, "balance": 256.00}],
             "bookLine": 64}
            """);

    private static void MapTerms(IEndpointRouteBuilder api) => api
        .MapPut("/sinking-funds/{id}",
            async (HttpContext http, Caller caller, string id, Body<FundTermsRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var sent = body.Value;
                var command = sent.ToCommand(id);
                var (entry, _) = await desk.WriteAsync(http, command, $"fund terms {id}", sent).ConfigureAwait(false);
                return TypedResults.Ok(new FundTermsAnswer(entry.Lines, entry.Id, id, command.BankPercent,
                    command.InterestPercent));
            })
        .Accepts<FundTermsRequest>("application/json")
        .Produces<FundTermsAnswer>()
        .RefusesWrites()
        .WithSummary("Say how a sinking fund is kept: how much of it in the bank, and what that earns")
        .WithDescription("Without it all of a fund is kept in cash. The rate is what the bank says it pays. "
                + "It may change, and a schedule is no promise.")
        .WithParameter("id", "The compartment's id.", "boat-insurance")
        .WithExample(
            """{"bankPercent": 60, "interestPercent": 2.75}""",
            """{"lines": [65], "entryId": 65, "compartment": "boat-insurance", "bankPercent": 60, "interestPercent": 2.75}""");

    private static DateOnly Horizon(string? to, DateOnly today)
    {
        var horizon = Reads.Day(to, "to") ?? today.AddYears(1);
        return horizon >= today && horizon <= today.AddYears(SinkingFund.YearsAhead) ? horizon
            : throw new MalformedException("to",
                string.Create(CultureInfo.InvariantCulture,
                    $"`to` is a day from today, {today:yyyy-MM-dd}, to {SinkingFund.YearsAhead} years ahead, "
                        + $"{today.AddYears(SinkingFund.YearsAhead):yyyy-MM-dd}."));
    }

    private static IReadOnlyList<object?> Cells(ScheduleRowAnswer row) =>
    [
        row.On, row.Contribution, row.ToCash, row.ToBank, row.Interest, string.Join(' ', row.Bills.Select(b => b.Goal)),
        row.Bills.Sum(b => b.Amount), row.Cash, row.Bank, row.Balance,
    ];
}

/// <summary>A line of the kind <c>fundTerms</c>.</summary>
public sealed record FundTermsLine : LineAnswer, ILineOf<FundTermsSet>
{
    /// <summary>The compartment it is about.</summary>
    public required string Compartment { get; init; }

    /// <summary>How much of a sinking fund's contributions goes to the bank, in percent.</summary>
    public required int BankPercent { get; init; }

    /// <summary>What the bank part of a sinking fund earns in a year, in percent.</summary>
    public required decimal InterestPercent { get; init; }

    static LineAnswer ILineOf<FundTermsSet>.Of(FundTermsSet e, LineTelling told) =>
        new FundTermsLine
        {
            Compartment = e.Compartment,
            BankPercent = e.BankPercent,
            InterestPercent = e.InterestBasisPoints / 100m
        };
}
