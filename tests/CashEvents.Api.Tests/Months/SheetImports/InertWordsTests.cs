using System.Globalization;
using System.Text.RegularExpressions;
using CsCheck;
using CsvHelper;
using Xunit;

namespace CashEvents.Api.Tests.Months;

/// <summary>
/// Words that a spreadsheet would run as a formula stay words on a sheet, and a sheet that comes back says what the
/// book says.
/// </summary>
public sealed partial class InertWordsTests(SharedServer shared)
{
    private static readonly string[] _risky =
    [
        "=1+1", "+44 20", "-5 off", "@SUM(A1)", "＝1+1", "＋1", "－1", "＠now", "﹦1", "﹣1",
        "bread;=1+1", "bread; -butter", "bread;＝1", "a;b;+c", ";=1", "bread;\"=1", "\"=1+1\"", "' =1", "'=1", "''=1",
        "'-'-1",
        "\u200E=1+1", "\u200F-1", "\u061C@x", "bread;\u200E=1", "\u200B=1", "\uFEFF+1", "\u00A0=1", "\u2003=1",
    ];

    private static readonly string[] _plain =
        ["Bread", "it's", "'tis bread", "a;b", "a=b", "5-6 eggs", "say \"no\"", "Ördög's 葛 ⛴️", "נמל", "é; ü", "", "'"];

    [Fact]
    public async Task They_do_nothing_on_the_sheet_and_come_back_as_they_were()
    {
        var (household, other) = (await shared.HarbourRowAsync(), await shared.HarbourRowAsync());
        string[] words = [.. _risky, .. _plain];
        await household.FillAsync("ferry-fares", "100.00");
        foreach (var written in words)
        {
            await household.SpendAsync("ferry-fares", "0.50", description: written);
        }

        var sheet = (await household.Keeper.GetAsync("/api/compartments/ferry-fares/tracker?month=2026-11",
            ("Accept", "text/csv"))).MustBe(200).Text;
        var lines = (await household.Keeper.GetAsync("/api/lines?limit=1000", ("Accept", "text/csv"))).MustBe(200).Text;
        var own = (await household.WithoutWritingAsync(_ => household.ImportAsync(sheet))).MustBe(200).Json;
        (await other.ImportAsync(sheet)).MustBe(201);

        Assert.Equal(words.Length + 1, own.GetProperty("there").GetInt32());
        Assert.Equal(await DescriptionsAsync(household), await DescriptionsAsync(other));
        Assert.Equal(words.Select(w => w.Trim()), await DescriptionsAsync(household));
        Assert.All(new[] { sheet, lines }.SelectMany(Cells), MustBeInert);
    }

    [Fact]
    public void Whatever_is_written_is_inert_and_comes_back() =>
        Gen.Char["ab =+-@＝＋－＠;'\" \t\u200E\u061C\u2066﹣"].Array[0, 12].Select(letters => new string(letters)).Sample(
            words =>
            {
                var inert = Csv.Inert(words);
                MustBeInert(inert);
                Assert.Equal(words, Csv.AsWritten(inert));
            },
            iter: 20_000);

    // As other programs split it too: at semicolons or tabs, whatever stands in quotes; and they may leave out quotes,
    // blanks and what does not print.
    private static void MustBeInert(string words) =>
        Assert.All(words.Split(';', '\t'),
            cell => Assert.True(cell.StartsWith('\'') || !Runs().IsMatch(cell), $"<{cell}> of <{words}> runs."));

    private static IEnumerable<string> Cells(string sheet)
    {
        using var csv = new CsvParser(new StringReader(sheet), CultureInfo.InvariantCulture);
        while (csv.Read())
        {
            foreach (var cell in csv.Record!.Where(
                cell => !decimal.TryParse(cell, CultureInfo.InvariantCulture, out _)))
            {
                yield return cell;
            }
        }
    }

    private static async Task<IEnumerable<string>> DescriptionsAsync(Household household) =>
        [.. (await household.LinesAsync("limit=1000&kind=spend"))
            .Select(l => l.TryGetProperty("description", out var words) ? words.GetString()! : "")];

    [GeneratedRegex(@"^[\s""\p{Cc}\p{Cf}]*[=+\-@＝＋－＠﹦﹢﹣﹫]")]
    private static partial Regex Runs();
}
