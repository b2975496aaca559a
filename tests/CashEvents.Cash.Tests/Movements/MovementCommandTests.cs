using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Kiota.Abstractions;
using Xunit;

namespace CashEvents.Cash.Tests.Movements;

/// <summary>What a household records day by day, in a line each.</summary>
public sealed class MovementCommandTests(BookServer server)
{
    [Fact]
    public async Task A_day_of_a_household_is_in_the_book_as_it_was_typed()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);

        foreach (var command in new[]
        {
            "fill market-days 40", "fill ferry-fares 20,00", "fill rainy-day 10 --bank",
            "spend market-days 4,20 Eggs and cheese", "refund market-days 1.50 Bottles",
            "transfer market-days bakery-van 5 --on yesterday", "transfer rainy-day rainy-day 2.50 --from-bank",
            "sweep rainy-day ferry-fares bakery-van --leave 1",
        })
        {
            var said = await terminal.RunAsync(command.Split(' '));
            // Yesterday there was nothing to transfer yet.
            Assert.Equal(command.Contains("yesterday", StringComparison.Ordinal) ? ExitCode.Refused : ExitCode.Done,
                said.Code);
        }

        Assert.Equal(40m - 4.20m + 1.50m, await household.CashAsync("market-days"));
        Assert.Equal(1m, await household.CashAsync("ferry-fares"));
        Assert.Equal(2.50m + 19m, await household.CashAsync("rainy-day"));
        var lines = await household.Keeper.Api.Lines.GetAsync(request => request.QueryParameters.Kind =
            CashEvents.Client.Api.Lines.GetKindQueryParameterType.Spend);
        Assert.Equal("Eggs and cheese", lines!.Lines!.Single().SpendLine!.Description);
    }

    [Fact]
    public async Task A_movement_says_its_line_and_what_is_there_now()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await household.FillAsync("market-days", 40);
        var line = await household.LineAsync() + 1;

        var said = await terminal.RunAsync("spend", "market-days", "4.20", "Eggs");
        var json = await terminal.RunAsync("spend", "market-days", "0.80", "--json");

        Assert.Equal($"Line {line}. market-days has 35.80 in cash.\n", said.Out);
        var balance = JsonElement.Parse(json.Out).GetProperty("balances")[0].GetProperty("balance");
        Assert.Equal("35.00", balance.GetRawText());
    }

    [Fact]
    public async Task A_count_says_what_it_is_over_or_short_and_is_explained_and_settled()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await household.FillAsync("bakery-van", 30.50m);
        var count = await household.LineAsync() + 1;

        var counted = await terminal.RunAsync("count", "bakery-van", "20x1", "5x2");
        var explained = await terminal.RunAsync("explain", $"{count}");
        var settled = await terminal.RunAsync("settle", $"{count}", "--reason", "Lost between the planks");
        var again = await terminal.RunAsync("count", "bakery-van", "30");

        Assert.Contains("30.00 counted, 30.50 expected: 0.50 short.", counted.Out, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, ExitCode.Done), (explained.Code, settled.Code));
        Assert.Contains("30.00 counted, as expected.", again.Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_explanation_says_why_and_where_to_look_and_a_line_that_it_may_be_is_put_right()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await household.FillAsync("market-days", 40);
        await household.FillAsync("bakery-van", 40);
        await terminal.RunAsync("spend", "bakery-van", "11.70", "Rolls");
        var line = await household.LineAsync();
        await terminal.RunAsync("count", "market-days", "28.30");
        var count = line + 1;

        var explained = await terminal.RunAsync("explain", $"{count}");
        var rows = await terminal.RunAsync("explain", $"{count}", "--csv");
        var listed = JsonElement.Parse((await terminal.RunAsync("explain", $"{count}", "--json")).Out)
            .GetProperty("explanations").EnumerateArray().Count(e => e.GetProperty("likelihood").GetDecimal() >= 0.01m);
        var unknown = await terminal.RunAsync("settle", $"{count}", "--same-as", "1");
        var settled = await terminal.RunAsync("settle", $"{count}", "--same-as", $"{line}");

        Assert.Equal(listed, Regex.Count(explained.Out, "(?m)^[1-9]\\. "));
        Assert.Matches("(?m)^1\\. (Nearly sure|About [1-9] in 10): ", explained.Out);
        Assert.Matches("(?m)^   The whole of it, 11\\.70 EUR, ", explained.Out);
        Assert.Matches($"(?m)^   Look first whether line {line} is the same spend\\.$", explained.Out);
        Assert.Contains($"\n   If it is line {line}: cash settle {count} --same-as {line}\n", explained.Out,
            StringComparison.Ordinal);
        Assert.Matches($"(?m)^   If it is not: cash settle {count} --by notRecorded", explained.Out);
        Assert.Matches("(?m)(something else, such as money lost or found|^Hardly anything else)\\.$", explained.Out);
        Assert.Matches("(?m)^Count the cash of 'bakery-van' too: ", explained.Out);
        Assert.StartsWith("likelihood,code,what happened,why,look\r\n", rows.Out, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Refused, ExitCode.Done), (unknown.Code, settled.Code));
        Assert.Equal((28.30m, 40m),
            (await household.CashAsync("market-days"), await household.CashAsync("bakery-van")));
    }

    [Fact]
    public async Task A_wrong_line_is_undone_or_written_right()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await household.FillAsync("market-days", 40);
        await terminal.RunAsync("spend", "market-days", "5.20", "Eggs");
        var spend = await household.LineAsync();

        var amended = await terminal.RunAsync("amend", $"{spend}", "--reason", "Read wrong", "--amount", "2,50");
        Assert.Equal((ExitCode.Done, 37.50m), (amended.Code, await household.CashAsync("market-days")));
        var undone = await terminal.RunAsync("undo", $"{spend + 2}", "--reason", "Brought back");

        Assert.Equal((ExitCode.Done, 40m), (undone.Code, await household.CashAsync("market-days")));
        Assert.Equal(ExitCode.Usage, (await terminal.RunAsync("undo", $"{spend}")).Code);
    }

    [Fact]
    public async Task A_transfer_is_written_right_too_between_the_same_places()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        await household.FillAsync("market-days", 40);
        await terminal.RunAsync("transfer", "market-days", "rainy-day", "12", "--to-bank");
        var transfer = await household.LineAsync();

        var amended = await terminal.RunAsync("amend", $"{transfer}", "--reason", "Read wrong", "--amount", "21");
        var other = await terminal.RunAsync(
            "amend", $"{transfer + 2}", "--reason", "Wrong", "--compartment", "bakery-van");

        Assert.Equal((ExitCode.Done, ExitCode.Usage), (amended.Code, other.Code));
        Assert.Equal(19m, await household.CashAsync("market-days"));
        Assert.Equal(21m, (await household.Keeper.Api.Compartments["rainy-day"].GetAsync())!.Bank);
    }

    [Fact]
    public async Task A_payday_is_looked_at_first_and_then_filled_and_its_notes_are_told()
    {
        var household = await server.HarbourRowAsync();
        using var terminal = new Terminal(household);
        var today = (await household.Keeper.Api.Today.GetAsync())!.Date!.Value;
        var paydays = await household.Keeper.Api.Paydays.GetAsync(request =>
            (request.QueryParameters.From, request.QueryParameters.To) = (Before(today, 40), today));
        var payday = $"{paydays!.Paydays![^1].Day}";
        var before = await household.LineAsync();

        var looked = await terminal.RunAsync("payday", payday, "--dry-run", "--csv");
        Assert.Equal(before, await household.LineAsync());
        var filled = await terminal.RunAsync("payday", payday, "--json");

        var run = JsonElement.Parse(filled.Out);
        Assert.Equal([before + 1], run.GetProperty("lines").EnumerateArray().Select(line => line.GetInt64()));
        Assert.Contains($",{run.GetProperty("compartments")[0].GetProperty("amount").GetRawText()},", looked.Out,
            StringComparison.Ordinal);
        var slip = await terminal.RunAsync("slip", payday);
        Assert.Equal((ExitCode.Done, ""), (slip.Code, slip.Error));
    }

    private static Date Before(Date day, int days) => new(new DateTime(day.Year, day.Month, day.Day).AddDays(-days));
}
