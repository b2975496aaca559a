using FluentValidation;

namespace CashEvents.Api.Paydays;

/// <summary>A standing payment, described whole.</summary>
/// <param name="Kind">What it is for: a fixed bill, or an automatic saving.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Rule">When it is due: a recurrence rule of RFC 5545, such as <c>FREQ=MONTHLY;BYMONTHDAY=3</c>, that
/// tells days.</param>
/// <param name="First">The first day on which it is due, one of the rule's days.</param>
/// <param name="NotBankDay">Whether it is paid on the previous or the next bank day when the day is none.</param>
/// <param name="Amount">How much each time.</param>
public sealed record StandingPaymentRequest(StandingPaymentKind? Kind, string? Label, string? Rule, DateOnly? First,
    NotBankDay? NotBankDay, decimal? Amount)
{
    /// <exception cref="Domain.Naming.RefusalException">The rule can't be read, or does not name the first
    /// day.</exception>
    internal SetStandingPayment ToCommand(string id) =>
        new(id, Kind!.Value, Label!, RecurrenceRules.Read(Rule!, First!.Value), NotBankDay!.Value, Amount!.Value);
}

/// <summary>A standing payment.</summary>
/// <param name="Payment">Its id.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Label">As people call it.</param>
/// <param name="Rule">Its recurrence rule.</param>
/// <param name="First">The first day on which it is due.</param>
/// <param name="NotBankDay">Whether it is paid on the previous or the next bank day when the day is none.</param>
/// <param name="Amount">How much each time.</param>
public sealed record StandingPaymentAnswer(string Payment, StandingPaymentKind Kind, string Label, string Rule,
    DateOnly First, NotBankDay NotBankDay, decimal Amount)
{
    internal static StandingPaymentAnswer Of(StandingPayment payment, Currency currency) => new(
        payment.Id, payment.Kind, payment.Label, payment.Recurrence.Rule, payment.Recurrence.First, payment.NotBankDay,
        currency.ToDecimal(payment.Amount));
}

/// <summary>The household's standing payments.</summary>
/// <param name="StandingPayments">By id.</param>
/// <param name="BookLine">The line at which the book stood.</param>
public sealed record StandingPaymentsAnswer(IReadOnlyList<StandingPaymentAnswer> StandingPayments, long BookLine);

/// <summary>What setting a standing payment wrote.</summary>
/// <param name="Lines">Number of the line; none if there was nothing to write.</param>
/// <param name="EntryId">The entry it belongs to.</param>
/// <param name="Payment">Its id.</param>
public sealed record StandingPaymentSetAnswer(IReadOnlyList<long> Lines, long? EntryId, string Payment)
{
    /// <summary>Why nothing was written.</summary>
    public string? Note { get; init; }
}

internal sealed class StandingPaymentRequestValidator : AbstractValidator<StandingPaymentRequest>
{
    public StandingPaymentRequestValidator()
    {
        RuleFor(r => r.Kind).NotNull().WithMessage("`kind` is needed: \"fixedBill\" or \"automaticSaving\".");
        RuleFor(r => r.Label).NotEmpty().WithMessage("`label` is needed: what the payment is called.");
        RuleFor(r => r.Rule).NotEmpty()
            .WithMessage("`rule` is needed: a recurrence rule of RFC 5545, such as \"FREQ=MONTHLY;BYMONTHDAY=3\".");
        RuleFor(r => r.First).NotNull()
            .WithMessage("`first` is needed: the first day on which it is due, such as \"2026-09-03\".");
        RuleFor(r => r.NotBankDay).NotNull()
            .WithMessage("`notBankDay` is needed: \"previous\" or \"next\", for a day that is no bank day.");
        RuleFor(r => r.Amount).NotNull().WithMessage("`amount` is needed: how much is paid each time.");
    }
}

internal sealed class StandingPaymentEndpoints : IEndpoints
{
    public static void Map(IEndpointRouteBuilder api)
    {
        api.MapGet("/standing-payments", async (HttpContext http, Caller caller, BookReader books) =>
            {
                Reads.OnlyTakes(http);
                var book = await books.ReadAsync(caller.Household, http.RequestAborted).ConfigureAwait(false);
                Answers.StampLine(http, book.Line);
                return TypedResults.Ok(new StandingPaymentsAnswer(
                    [.. book.StandingPayments.Values.OrderBy(p => p.Id, StringComparer.Ordinal)
                        .Select(p => StandingPaymentAnswer.Of(p, book.Currency))], book.Line));
            })
            .Produces<StandingPaymentsAnswer>()
            .RefusesReads()
            .WithSummary("Fixed bills and automatic savings: what leaves the bank before anything is drawn")
            .WithExample(null, """
                {"standingPayments": [
                   {"payment": "nest-egg", "kind": "automaticSaving", "label": "Nest egg", "rule": "FREQ=MONTHLY;BYMONTHDAY=1", "first": "2026-09-01", "notBankDay": "next", "amount": 150.00},
                   {"payment": "quay-rent", "kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640.00}],
                 "bookLine": 72}
                """);

        api.MapPut("/standing-payments/{id}",
            async (HttpContext http, Caller caller, string id, Body<StandingPaymentRequest> body, WriteDesk desk) =>
            {
                caller.MustKeep();
                var (entry, _) = await desk.WriteAsync(http, body.Value.ToCommand(id), $"standing payment {id}",
                    body.Value).ConfigureAwait(false);
                return TypedResults.Ok(new StandingPaymentSetAnswer(entry.Lines, entry.Id, id)
                {
                    Note = entry.Lines.IsEmpty ? "It is set like this already. Nothing was written." : null,
                });
            })
            .Accepts<StandingPaymentRequest>("application/json")
            .Produces<StandingPaymentSetAnswer>()
            .RefusesWrites()
            .WithSummary("Set a standing payment: a fixed bill or an automatic saving, how much and when it "
                + "leaves the bank")
            .WithDescription("`rule` is a recurrence rule of RFC 5545 that tells days, as for income sources, "
                + "and `first` the first of its days. It only says what is known to leave the bank. Nothing is "
                + "paid by it, and no line of money is written. The same id again replaces what was set before, "
                + "for past days too.")
            .WithParameter("id", "The payment's id: small letters and digits with hyphens between.", "quay-rent")
            .WithExample(
                """{"kind": "fixedBill", "label": "Quay rent", "rule": "FREQ=MONTHLY;BYMONTHDAY=3", "first": "2026-09-03", "notBankDay": "next", "amount": 640.00}""",
                """{"lines": [71], "entryId": 71, "payment": "quay-rent"}""");

        api.MapDelete("/standing-payments/{id}", async (HttpContext http, Caller caller, string id, WriteDesk desk) =>
            {
                Reads.OnlyTakes(http);
                caller.MustKeep();
                await desk.WriteAsync(http, new EndStandingPayment(id), $"end standing payment {id}", id)
                    .ConfigureAwait(false);
                return TypedResults.NoContent();
            })
            .Produces(StatusCodes.Status204NoContent)
            .RefusesWrites(StatusCodes.Status404NotFound)
            .WithSummary("End a standing payment: it is no longer told")
            .WithDescription("If the last day on which it is due is known, set it again with UNTIL in its rule "
                + "instead. Earlier days are told then.")
            .WithParameter("id", "The payment's id: small letters and digits with hyphens between.", "quay-rent")
            .WithExample(null, null);
    }
}

/// <summary>A line of the kind <c>standingPaymentSet</c>.</summary>
public sealed record StandingPaymentSetLine : LineAnswer, ILineOf<StandingPaymentSet>
{
    /// <summary>The standing payment it is about.</summary>
    public required string Payment { get; init; }

    /// <summary>What a standing payment is for.</summary>
    public required StandingPaymentKind PaymentKind { get; init; }

    /// <summary>A wallet's or compartment's label.</summary>
    public required string Label { get; init; }

    /// <summary>Recurrence rule (RFC 5545) of an income source or standing payment.</summary>
    public required string Rule { get; init; }

    /// <summary>The first day of that recurrence.</summary>
    public required DateOnly First { get; init; }

    /// <summary>When its money moves if the day is no bank day.</summary>
    public required NotBankDay NotBankDay { get; init; }

    /// <summary>How much moved; above zero, the kind says in which direction.</summary>
    public required decimal Amount { get; init; }

    static LineAnswer ILineOf<StandingPaymentSet>.Of(StandingPaymentSet e, LineTelling told) =>
        new StandingPaymentSetLine
        {
            Payment = e.Payment,
            PaymentKind = e.Kind,
            Label = e.Label,
            Rule = e.Rule,
            First = e.First,
            NotBankDay = e.NotBankDay,
            Amount = told.Say(e.Amount)
        };
}

/// <summary>A line of the kind <c>standingPaymentEnded</c>.</summary>
public sealed record StandingPaymentEndedLine : LineAnswer, ILineOf<StandingPaymentEnded>
{
    /// <summary>The standing payment it is about.</summary>
    public required string Payment { get; init; }

    static LineAnswer ILineOf<StandingPaymentEnded>.Of(StandingPaymentEnded e, LineTelling told) =>
        new StandingPaymentEndedLine { Payment = e.Payment };
}
