namespace CashEvents.Domain.Tests.Books;

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

        var part = shortage.Place;
        Assert.True(shortage.Missing > Money.Zero);
        if (command is ReverseLine or AmendLine)
        {
            CoversOfACorrectionAreTrue(refusal, shortage, book, command, today);
            return;
        }

        Assert.Equal(naive.On(part, shortage.On), shortage.Available.Minor);
        Assert.Equal(naive.Available(part, shortage.On), shortage.Available.Minor);
        Assert.DoesNotContain(shortage.CouldGive, c => c.Compartment == part.Compartment);
        if (command is RecordTransfer transfer)
        {
            Assert.DoesNotContain(shortage.CouldGive, c => c.Compartment == transfer.To.Compartment);
        }

        if (command is not RecordSpend spend)
        {
            return;
        }

        // With the cover it names, the same spend is written; with any other open one, it is refused.
        var day = spend.OccurredOn ?? today;
        Assert.Equal(naive.Available(part, day), shortage.Available.Minor);
        Assert.All(shortage.CouldGive,
            c => Assert.Equal(naive.Available(part with { Compartment = c.Compartment }, day), c.Available.Minor));
        Assert.All(
            NaiveBook.Compartments.Where(c => c != spend.Compartment && !book.Compartments[c].Closed),
            c => Assert.Equal(shortage.CouldGive.Any(cover => cover.Compartment == c),
                Written(spend with { RestFrom = c }, book, today)));
    }

    // What is named is moved there first, on the day of the correction, and then the correction is written.
    private static void CoversOfACorrectionAreTrue(Refusal refusal, Shortage shortage, Book book, ICommand command,
        DateOnly today)
    {
        Assert.DoesNotContain(shortage.CouldGive, c => c.Compartment == shortage.Place.Compartment);
        if (command is not ReverseLine reversal)
        {
            return;
        }

        var (part, day) = (shortage.Place, book.IsClosed(((IMovement)reversal.Written).OccurredOn)
            ? today
            : ((IMovement)reversal.Written).OccurredOn);
        Assert.Equal(-shortage.Available, shortage.Missing);
        Assert.True(shortage.On >= day);
        Assert.Contains($"{shortage.On:O} at {book.Say(shortage.Available)}", refusal.Detail);
        Assert.All(shortage.CouldGive, cover =>
        {
            var covered = new Transferred(part with { Compartment = cover.Compartment }, part, shortage.Missing, day,
                "");
            Assert.True(book.Available(covered.From, day).Closing >= shortage.Missing);
            Assert.Single(command.Decide(book.Apply(covered), today));
        });
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
