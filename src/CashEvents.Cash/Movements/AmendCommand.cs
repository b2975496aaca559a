using System.CommandLine;
using System.Text.Json;
using Microsoft.Kiota.Abstractions;

namespace CashEvents.Cash.Movements;

/// <summary>Undoes a line and writes it again as it should have been, in one entry.</summary>
internal static class AmendCommand
{
    public static Command Make(Commands commands)
    {
        var line = new Argument<int>("line") { Description = "Its number." };
        var reason = MovementSymbols.Reason();
        var amount = MovementSymbols.AmountOption("--amount", "The right amount.");
        var compartment = commands.Names.CompartmentOption("--compartment", "The right compartment.");
        var words = new Option<string?>("--words") { Description = "The right words.", HelpName = "words" };
        var on = Days.Option();
        return commands.Of("amend", "Write a fill, spend, refund or transfer right: undo it and write what differs.",
            async (session, asked) =>
            {
                var number = asked.GetValue(line);
                var wrong = await session.JsonAsync($"/api/lines/{number}").ConfigureAwait(false);
                var day = asked.GetValue(on) is null ? Days.Read(Text(wrong, "occurredOn")!)
                    : (await Days.OfAsync(session, asked.GetValue(on)).ConfigureAwait(false)).Day;
                var request = session.Client.Api.Lines[number].Amendment.ToPostRequestInformation(new AmendmentRequest
                {
                    Reason = asked.GetValue(reason),
                    Replacement = Replacement(wrong, day, asked.GetValue(amount), asked.GetValue(compartment),
                        asked.GetValue(words)),
                });
                await SentWords.SayAsync(session, await session.TextAsync(request).ConfigureAwait(false))
                    .ConfigureAwait(false);
            }, line, reason, amount, compartment, words, on);
    }

    private static MovementRequest Replacement(JsonElement wrong, Date day, decimal? amount, string? compartment,
        string? words)
    {
        var holding = Text(wrong, "holding") == "bank" ? Holding.Bank : Holding.Cash;
        amount ??= wrong.TryGetProperty("amount", out var was) ? was.GetDecimal() : null;
        compartment ??= Text(wrong, "compartment");
        words ??= Text(wrong, "description");
        return Text(wrong, "kind") switch
        {
            "spend" => new MovementRequest
            {
                SpendInBatch = new SpendInBatch
                {
                    Kind = SpendInBatch_kind.Spend,
                    Compartment = compartment,
                    Holding = holding,
                    Amount = amount,
                    Description = words,
                    Goal = Text(wrong, "goal"),
                    OccurredOn = day,
                },
            },
            "refund" => new MovementRequest
            {
                RefundInBatch = new RefundInBatch
                {
                    Kind = RefundInBatch_kind.Refund,
                    Compartment = compartment,
                    Holding = holding,
                    Amount = amount,
                    Description = words,
                    OccurredOn = day,
                },
            },
            "fill" => new MovementRequest
            {
                FillInBatch = new FillInBatch
                {
                    Kind = FillInBatch_kind.Fill,
                    Compartment = compartment,
                    Holding = holding,
                    Amount = amount,
                    Description = words,
                    OccurredOn = day,
                },
            },
            "transfer" when compartment is null => new MovementRequest
            {
                TransferInBatch = new TransferInBatch
                {
                    Kind = TransferInBatch_kind.Transfer,
                    From = Place(wrong.GetProperty("from")),
                    To = Place(wrong.GetProperty("to")),
                    Amount = amount,
                    Description = words,
                    OccurredOn = day,
                },
            },
            "transfer" => throw NotDoneException.Usage("A transfer has two compartments. Undo it with cash undo, and "
                + "write it right."),
            var kind => throw NotDoneException.Usage($"A line of kind {kind} is not amended from here. Undo it with "
                + "cash undo, and write it right."),
        };
    }

    private static PartRef Place(JsonElement place) => new()
    {
        Compartment = Text(place, "compartment"),
        Holding = MovementSymbols.HoldingOf(Text(place, "holding") == "bank"),
    };

    private static string? Text(JsonElement line, string name) =>
        line.TryGetProperty(name, out var said) ? said.GetString() : null;
}
