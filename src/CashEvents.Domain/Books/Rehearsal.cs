using System.Collections.Immutable;

namespace CashEvents.Domain.Books;

/// <summary>One thing supposed to be written.</summary>
/// <param name="Path">How it is named to who supposes it, such as <c>suppose[1]</c>.</param>
/// <param name="Command">What is supposed.</param>
public sealed record Supposition(string Path, ICommand Command);

/// <summary>A line that would be written.</summary>
/// <param name="Supposition">Place in the list of what it follows from, from 0.</param>
/// <param name="Line">What it would say.</param>
public sealed record SupposedLine(int Supposition, IBookEvent Line);

/// <summary>What would become of a book if some things were written, one after another. Nothing is.</summary>
/// <param name="Now">The book as it stands.</param>
/// <param name="Then">The book as it would stand.</param>
/// <param name="Lines">The lines that lead from one to the other.</param>
public sealed record Rehearsal(Book Now, Book Then, ImmutableArray<SupposedLine> Lines)
{
    /// <summary>Supposes things one after another, each by the rules that hold when it is written.</summary>
    /// <exception cref="RefusalException">One of them would be refused; the field names which.</exception>
    public static Rehearsal Of(Book book, IReadOnlyList<Supposition> suppositions, DateOnly today)
    {
        ArgumentNullException.ThrowIfNull(suppositions);
        var then = book;
        var supposed = ImmutableArray.CreateBuilder<SupposedLine>();
        for (var i = 0; i < suppositions.Count; i++)
        {
            try
            {
                var (lines, after) = then.Decide(suppositions[i].Command, today);
                supposed.AddRange(lines.Select(line => new SupposedLine(i, line)));
                then = after;
            }
            catch (RefusalException refused)
            {
                throw new RefusalException(refused.Refusal.Within(suppositions[i].Path));
            }
        }

        return new Rehearsal(book, then, supposed.ToImmutable());
    }
}
