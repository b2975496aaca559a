using Xunit;

namespace CashEvents.Api.Tests.Paydays;

public sealed class NoteWishesTests(SharedServer shared)
{
    [Fact]
    public async Task A_keeper_says_in_which_notes_a_compartment_would_have_its_money()
    {
        var household = await shared.HarbourRowAsync();

        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes",
            """{"prefer": [5, 10], "avoid": [50], "atLeast": {"5": 4}}""")).MustBe(200).MustSay("""
            {"compartment": "ferry-fares", "label": "Ferry fares", "prefer": [10.00, 5.00], "avoid": [50.00], "atLeast": [{"value": 5.00, "count": 4}], "lines": [11], "entryId": 11}
            """);

        (await household.Keeper.GetAsync("/api/compartments/ferry-fares/notes")).MustBe(200).MustHave("""
            {"compartment": "ferry-fares", "label": "Ferry fares", "prefer": [10.00, 5.00], "avoid": [50.00], "atLeast": [{"value": 5.00, "count": 4}]}
            """);
        var line = (await household.LinesAsync("after=10"))[0];
        Assert.Equal(("noteWishes", "[10.00,5.00]", "[50.00]"),
            (line.GetProperty("kind").GetString(), line.GetProperty("prefer").GetRawText(),
                line.GetProperty("avoid").GetRawText()));
    }

    [Fact]
    public async Task The_same_wishes_again_write_nothing_and_what_is_left_out_is_wished_no_more()
    {
        var household = await shared.HarbourRowAsync();
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"prefer": [5], "avoid": [50]}"""))
            .MustBe(200);

        Assert.Empty((await household.WithoutWritingAsync(
            keeper => keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"avoid": [50.00], "prefer": [5]}""")))
            .MustBe(200).Lines);
        var narrowed = (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"avoid": [50]}"""))
            .MustBe(200).Json;

        Assert.Equal("[]", narrowed.GetProperty("prefer").GetRawText());
        Assert.Equal("[50.00]", narrowed.GetProperty("avoid").GetRawText());
    }

    [Fact]
    public async Task Before_the_household_names_its_currency_there_are_no_notes_to_wish_for()
    {
        var household = await Household.OpenEmptyAsync(await shared.ServerAsync());
        (await household.Keeper.PostAsync("/api/wallets", """{"label": "Oilskin wallet"}""")).MustBe(201);
        (await household.Keeper.PostAsync("/api/compartments",
            """{"label": "Ferry fares", "wallet": "oilskin-wallet", "purpose": "spending"}""")).MustBe(201);

        (await household.Keeper.GetAsync("/api/compartments/ferry-fares/notes")).MustBe(200)
            .MustHave(
                """{"compartment": "ferry-fares", "label": "Ferry fares", "prefer": [], "avoid": [], "atLeast": []}""");
        (await household.Keeper.PutAsync("/api/compartments/ferry-fares/notes", """{"avoid": [50]}"""))
            .MustBeProblem(409, "currency-missing");
    }

    [Theory]
    [InlineData(404, "compartment-unknown", null, "ferry-fare", """{"prefer": [5]}""")]
    [InlineData(400, "malformed", "prefers", "ferry-fares", """{"prefers": [5]}""")]
    [InlineData(400, "malformed", "prefer[0]", "ferry-fares", """{"prefer": ["five"]}""")]
    [InlineData(422, "denomination-unknown", "avoid[0]", "ferry-fares", """{"avoid": [25]}""")]
    [InlineData(422, "wishes-contradict", "avoid", "ferry-fares", """{"avoid": [5], "prefer": [5]}""")]
    [InlineData(422, "pieces-out-of-range", "atLeast.5", "ferry-fares", """{"atLeast": {"5": -4}}""")]
    public async Task Wishes_that_do_not_fit_are_refused(int status, string code, string? field, string compartment,
        string body)
    {
        var household = await shared.HarbourRowAsync();

        var refused = await household.WithoutWritingAsync(
            keeper => keeper.PutAsync($"/api/compartments/{compartment}/notes", body));

        if (field is null)
        {
            refused.MustBeProblem(status, code);
        }
        else
        {
            refused.MustBlame(status, code, field);
        }
    }
}
