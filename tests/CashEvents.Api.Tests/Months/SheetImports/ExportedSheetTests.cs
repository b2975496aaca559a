using Xunit;

namespace CashEvents.Api.Tests.Months;

/// <summary>
/// What the program gives as CSV it takes back: whatever a book holds, its trackers carry it into another book.
/// </summary>
public sealed class ExportedSheetTests(SharedServer shared)
{
    private static readonly string[] _months = ["2026-09", "2026-10", "2026-11"];

    [Theory]
    [InlineData(1)]
    [InlineData(20261115)]
    [InlineData(77)]
    public async Task The_trackers_of_any_book_give_an_empty_book_the_same_balances_and_their_own_nothing_new(int seed)
    {
        var household = await shared.HarbourRowAsync();
        var other = await shared.HarbourRowAsync();
        await new GeneratedHistory(household, seed).SendAsync(250);

        var rows = 0;
        foreach (var compartment in new[] { "ferry-fares", "market-days", "bakery-van", "boat-insurance", "rainy-day" })
        {
            foreach (var month in _months)
            {
                var sheet = (await household.Keeper.GetAsync($"/api/compartments/{compartment}/tracker?month={month}",
                    ("Accept", "text/csv"))).MustBe(200).Text;
                if (sheet.Count(letter => letter == '\n') == 1)
                {
                    continue;
                }

                var written = (await other.ImportAsync(sheet, $"compartment={compartment}")).MustBe(201).Json;
                (await other.WithoutWritingAsync(_ => other.ImportAsync(sheet, $"compartment={compartment}")))
                    .MustBe(200);
                var own = (await household.WithoutWritingAsync(
                    _ => household.ImportAsync(sheet, $"compartment={compartment}"))).MustBe(200).Json;

                Assert.Equal(written.GetProperty("new").GetInt32(), own.GetProperty("there").GetInt32());
                Assert.Equal((0, 0), (written.GetProperty("findings").GetArrayLength(),
                    own.GetProperty("notOnSheet").GetArrayLength()));
                rows += written.GetProperty("new").GetInt32();
            }

            foreach (var holding in new[] { "cash", "bank" })
            {
                Assert.Equal(await household.HoldsAsync(compartment, holding),
                    await other.HoldsAsync(compartment, holding));
            }
        }

        Assert.True(rows > 100, $"Seed {seed} moved too little: {rows} rows.");
    }
}
