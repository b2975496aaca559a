namespace CashEvents.Domain.Tests.Naming;

/// <summary>What a refusal says of the book it was made of, and of the part it was found in.</summary>
public class RefusalTests
{
    [Fact]
    public void A_household_that_stands_at_another_line_says_which_was_believed()
    {
        Assert.Equal(("book-moved-on", RefusalSort.Stale,
            "The book stands at line 9, not 3 or 4: read it again, then decide."),
            Refusal.MovedOn(9, 3, 4) is var both ? (both.Code, both.Sort, both.Detail) : default);
        Assert.Equal("The book stands at line 9, which none of the tags names (a weak tag, with W/ before it, never "
            + "does): read it again, then decide.", Refusal.MovedOn(9).Detail);
    }

    // What a part of a request was refused for names the part; what was not found there is a fault of the request.
    [Fact]
    public void A_refusal_within_a_part_names_the_part()
    {
        var found = Refusal.NotFound("goal-unknown", "There is no goal.", ["hull"]).Refusal;
        var unfit = Refusal.Unfit("amount", "amount-missing", "Send it.").Refusal;

        Assert.Equal((RefusalSort.Unfit, "goals"), (found.Within("goals").Sort, found.Within("goals").Field));
        Assert.Equal(["hull"], found.Within("goals").Suggestions);
        Assert.Equal((RefusalSort.Unfit, "goals.amount"), (unfit.Within("goals").Sort, unfit.Within("goals").Field));
        Assert.Empty(unfit.Suggestions);
        Assert.Equal(RefusalSort.Conflict, Refusal.Conflict("x", "y").Refusal.Within("goals").Sort);
        Assert.Equal("Send it.", new RefusalException(unfit).Message);
    }
}
