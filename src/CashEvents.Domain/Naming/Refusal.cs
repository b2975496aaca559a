using System.Diagnostics.CodeAnalysis;

namespace CashEvents.Domain.Naming;

/// <summary>Why a command is not written, in a way the sender can act on.</summary>
/// <param name="Sort">What would have to change: the address, the words sent, or the book.</param>
/// <param name="Code">Stable, for programs: <c>not-enough</c>.</param>
/// <param name="Detail">For people: what is the matter and the mend.</param>
/// <param name="Field">JSON path of the field at fault, if one is.</param>
public sealed record Refusal(RefusalSort Sort, string Code, string Detail, string? Field = null)
{
    /// <summary>Names near the one sent, nearest first.</summary>
    public IReadOnlyList<string> Suggestions { get; init; } = [];

    /// <summary>
    /// What a program may want to know besides the words, such as a shortage. Whoever refuses says with which type.
    /// </summary>
    public object? Facts { get; init; }

    /// <summary>
    /// The same refusal when what it is about is a part of what was sent: the field is named from there, and what a
    /// name or number in it leads to is words too.
    /// </summary>
    /// <param name="part">JSON path of the part.</param>
    public Refusal Within(string part) =>
        At(part) with { Sort = Sort == RefusalSort.NotFound ? RefusalSort.Unfit : Sort };

    /// <summary>The same refusal of one of several things sent: the field is named from there.</summary>
    /// <param name="part">JSON path of the one.</param>
    public Refusal At(string part) => this with { Field = Field is null ? part : $"{part}.{Field}" };

    /// <summary>The words sent do not fit this book: a name, day or amount it can't take.</summary>
    public static RefusalException Unfit(string field, string code, string detail,
        IReadOnlyList<string>? suggestions = null) =>
        new(new Refusal(RefusalSort.Unfit, code, detail, field) { Suggestions = suggestions ?? [] });

    /// <summary>The book as it stands forbids it; it might be possible later.</summary>
    public static RefusalException Conflict(string code, string detail, string? field = null) =>
        new(new Refusal(RefusalSort.Conflict, code, detail, field));

    /// <summary>The book is not at the line that the sender decided for.</summary>
    /// <param name="line">The book's last line.</param>
    /// <param name="believed">The lines that the sender named, any of which would have done.</param>
    public static Refusal MovedOn(long line, params IReadOnlyCollection<long> believed) =>
        new(RefusalSort.Stale, "book-moved-on",
            $"The book stands at line {line}, {(believed.Count > 0
                ? $"not {string.Join(" or ", believed)}"
                : "which none of the tags names (a weak tag, with W/ before it, never does)")}: read it again, then "
                + "decide.");

    /// <summary>The book knows no such key, or knows it no more.</summary>
    public static Refusal Stranger { get; } =
        new(RefusalSort.Stranger, "key-unknown",
            "This key is not known here, or was revoked: ask the keeper for another.");

    /// <summary>There is nothing at the address sent to.</summary>
    public static RefusalException NotFound(string code, string detail, IReadOnlyList<string>? suggestions = null) =>
        new(new Refusal(RefusalSort.NotFound, code, detail) { Suggestions = suggestions ?? [] });
}

/// <summary>What would have to change for a refused command to be written.</summary>
public enum RefusalSort
{
    /// <summary>The words sent.</summary>
    Unfit,

    /// <summary>The book.</summary>
    Conflict,

    /// <summary>The address.</summary>
    NotFound,

    /// <summary>The line at which the sender believed the book to stand.</summary>
    Stale,

    /// <summary>The sender: the book has no such key that is still good.</summary>
    Stranger,

    /// <summary>The sender: the key is good, but not for this.</summary>
    NotAllowed,

    /// <summary>The program: something went wrong that should not have.</summary>
    Broken,
}

/// <summary>Thrown by a decision that refuses; nothing has been written.</summary>
[SuppressMessage("Design", "CA1032:Implement standard exception constructors",
    Justification = "A refusal without its reason helps nobody.")]
public sealed class RefusalException(Refusal refusal) : Exception(refusal.Detail)
{
    /// <summary>The reason.</summary>
    public Refusal Refusal { get; } = refusal;
}
