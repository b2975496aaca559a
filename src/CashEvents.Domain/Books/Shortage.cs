namespace CashEvents.Domain.Books;

/// <summary>Too little money in a place.</summary>
/// <param name="Place">Where.</param>
/// <param name="Available">What can be taken there on that day without any later day going below zero; below zero
/// itself where a correction would leave it so.</param>
/// <param name="Missing">What is wanting, above zero.</param>
/// <param name="On">The day whose closing balance is the bound.</param>
/// <param name="CouldGive">Compartments whose same holding has enough, fullest first: for what is missing, or in place
/// of a compartment that can't give all the rest.</param>
public sealed record Shortage(Part Place, Money Available, Money Missing, DateOnly On,
    IReadOnlyList<Giver> CouldGive);

/// <summary>A compartment that could give what is missing.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Available">What could be taken from it.</param>
public sealed record Giver(string Compartment, Money Available);

/// <summary>A refusal for want of money.</summary>
public static class RefusedForWant
{
    extension(Refusal refusal)
    {
        /// <summary>What is there and who could help, when money is missing.</summary>
        public Shortage? Shortage => refusal.Facts as Shortage;
    }
}
