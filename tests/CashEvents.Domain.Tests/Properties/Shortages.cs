using CashEvents.Domain.Amounts;
using CashEvents.Domain.Books;
using CashEvents.Domain.Spends;

namespace CashEvents.Domain.Tests.Properties;

/// <summary>What a refusal says about missing money is so, and what it proposes works.</summary>
internal static class Shortages
{
    public static void AreTrue(Refusal refusal, Book book, NaiveBook naive, ICommand command, DateOnly today)
    {
        Assert.Equal(refusal.Code == "not-enough", refusal.Shortage is not null);
        if (refusal.Shortage is not { } shortage)
        {
            return;
        }

        var place = shortage.Place;
        Assert.True(shortage.Missing > Money.Zero);
        Assert.Equal(naive.On(place, shortage.On), shortage.Available.Minor);
        Assert.Equal(naive.Available(place, shortage.On), shortage.Available.Minor);
        Assert.DoesNotContain(shortage.CouldCover, c => c.Compartment == place.Compartment);
        if (command is not RecordSpend spend)
        {
            return;
        }

        // With the cover it names, the same spend is written; with any other open one, it is refused.
        var day = spend.OccurredOn ?? today;
        Assert.Equal(naive.Available(place, day), shortage.Available.Minor);
        Assert.All(shortage.CouldCover, c => Assert.Equal(naive.Available(place with { Compartment = c.Compartment }, day), c.Available.Minor));
        Assert.All(
            NaiveBook.Compartments.Where(c => c != spend.Compartment && !book.Compartments[c].Closed),
            c => Assert.Equal(shortage.CouldCover.Any(cover => cover.Compartment == c), Written(spend with { CoverFrom = c }, book, today)));
    }

    private static bool Written(RecordSpend spend, Book book, DateOnly today)
    {
        try
        {
            return spend.Decide(book, today).Count == 2;
        }
        catch (RefusalException)
        {
            return false;
        }
    }
}
