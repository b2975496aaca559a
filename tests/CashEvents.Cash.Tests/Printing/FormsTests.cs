using System.Globalization;
using System.Text.Json;
using CsvHelper;
using Xunit;

namespace CashEvents.Cash.Tests.Printing;

/// <summary>What is read, in each form: a table, the server's JSON, or CSV.</summary>
public sealed class FormsTests(BookServer server)
{
    public static TheoryData<string> Readings =>
    [
        "balances", "balances --on yesterday", "week", "month", "sheet market-days", "lines",
        "lines --moved market-days", "lines --about bakery-van --kind count", "where", "today", "payday --dry-run",
        "slip", "bills", "outlook", "waiting",
    ];

    [Theory]
    [MemberData(nameof(Readings))]
    public async Task Every_reading_is_a_table_JSON_or_CSV(string command)
    {
        using var terminal = new Terminal(await LivedInAsync());

        var table = await terminal.RunAsync(command.Split(' '));
        var json = await terminal.RunAsync([.. command.Split(' '), "--json"]);
        var csv = await terminal.RunAsync([.. command.Split(' '), "--csv"]);

        Assert.All([table, json, csv], said => Assert.Equal((ExitCode.Done, ""), (said.Code, said.Error)));
        Assert.DoesNotContain(table.Out, c => c is '\u001B' or (>= '\u2500' and <= '\u259F'));
        Assert.NotEqual(JsonValueKind.Undefined, JsonElement.Parse(json.Out).ValueKind);
        Assert.Single(Rows(csv.Out).Select(row => row.Length).Distinct());
    }

    [Fact]
    public void Every_command_is_one_that_is_tested_as_a_reading_or_one_that_does_something()
    {
        string[] others =
        [
            "spend", "refund", "fill", "transfer", "sweep", "undo", "amend", "count", "explain", "settle", "print",
            "watch", "send", "forget", "connect", "completion",
        ];

        Assert.Equal(Terminal.AllCommands().Order(),
            Readings.Select(row => row.Data.Split(' ')[0]).Distinct().Concat(others).Order());
    }

    [Fact]
    public async Task People_get_their_decimal_mark_and_programs_a_point()
    {
        var household = await LivedInAsync();
        using var terminal = new Terminal(household) { Variables = { ["LANG"] = "en_IE.UTF-8" } };
        Assert.Contains(" 35.80", (await terminal.RunAsync("balances")).Out, StringComparison.Ordinal);

        terminal.Variables["LC_NUMERIC"] = "de_DE.UTF-8";
        Assert.Contains(" 35,80", (await terminal.RunAsync("balances")).Out, StringComparison.Ordinal);
        Assert.Contains(",35.80,", (await terminal.RunAsync("balances", "--csv")).Out, StringComparison.Ordinal);
        Assert.Contains(":35.80,", (await terminal.RunAsync("balances", "--json")).Out, StringComparison.Ordinal);

        terminal.Variables["LC_ALL"] = "C";
        Assert.Contains(" 35.80", (await terminal.RunAsync("balances")).Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Words_that_a_spreadsheet_would_run_stay_words_and_amounts_stay_amounts()
    {
        var household = await LivedInAsync();
        using var terminal = new Terminal(household);
        await terminal.RunAsync("spend", "market-days", "1", "=HYPERLINK(1)");
        await terminal.RunAsync("count", "bakery-van", "29");

        var rows = Rows((await terminal.RunAsync("lines", "--csv")).Out);

        Assert.Contains(rows, row => row[^1] == "'=HYPERLINK(1)");
        Assert.Contains(rows, row => row[2] == "count" && row[5] == "-1.00");
    }

    [Fact]
    public async Task On_a_terminal_there_are_rules_and_without_one_there_are_none()
    {
        var household = await LivedInAsync();
        using var people = new Terminal(household) { IsTerminal = true };
        using var program = new Terminal(household);

        Assert.Contains('─', (await people.RunAsync("balances")).Out);
        Assert.DoesNotContain('─', (await program.RunAsync("balances")).Out);
    }

    [Theory]
    [InlineData("strips oilskin-wallet", 3)]
    [InlineData("strips boat-insurance 2026-11", 1)]
    [InlineData("month", 1)]
    [InlineData("week", 1)]
    [InlineData("slip", 1)]
    public async Task Pages_to_print_are_files_and_it_says_where(string page, int files)
    {
        using var terminal = new Terminal(await LivedInAsync());

        var said = await terminal.RunAsync([.. $"print {page} --into".Split(' '), terminal.Home]);

        var named = said.Out.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal((ExitCode.Done, files), (said.Code, named.Length));
        Assert.All(named, file => Assert.StartsWith("<!DOCTYPE html>", File.ReadAllText(file),
            StringComparison.OrdinalIgnoreCase));
    }

    private async Task<Household> LivedInAsync()
    {
        var household = await server.HarbourRowAsync();
        await household.FillAsync("market-days", 40);
        await household.FillAsync("bakery-van", 30);
        await household.Keeper.Api.Spends.PostAsync(
            new SpendRequest { Compartment = "market-days", Amount = 4.20m, Description = "Eggs, \"fresh\"" });
        await household.Keeper.Api.Counts.PostAsync(new CountRequest { Compartment = "bakery-van", Total = 30m });
        return household;
    }

    private static List<string[]> Rows(string csv)
    {
        using var reader = new CsvParser(new StringReader(csv), CultureInfo.InvariantCulture);
        var rows = new List<string[]>();
        while (reader.Read())
            rows.Add(reader.Record!);
        return rows;
    }
}
