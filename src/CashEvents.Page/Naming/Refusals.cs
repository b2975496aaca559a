using System.Text.RegularExpressions;

namespace CashEvents.Page.Naming;

/// <summary>Tells people why something was refused: in labels, and without addresses.</summary>
public static partial class Refusals
{
    /// <summary>One sentence or two.</summary>
    public static string Sentence(Problem problem, Phone phone) =>
        Texts.ResourceManager.GetString("Problem_" + problem.Code.Replace('-', '_'), Texts.Culture)
            ?? InLabels(Acts().Replace(problem.Detail, ""), phone.Book);

    /// <summary>A sentence with what is written on compartments and wallets, in the stead of their ids.</summary>
    public static string InLabels(string sentence, Book? book) =>
        book is null ? sentence : Written.InLabels(sentence, book);

    // What stands behind these words is how a program does it.
    [GeneratedRegex(@" ?(with|to) (\u0091[^\u0092]*\u0092|(GET|PUT|POST|PATCH|DELETE) /\S+)( \{[^}]*\})?")]
    private static partial Regex Acts();
}
