using System.CommandLine;

namespace CashEvents.Cash.Movements;

/// <summary>What several movements are asked with.</summary>
internal static class MovementSymbols
{
    /// <summary>An amount, read to the cent; what could be two things is refused.</summary>
    public static Argument<decimal> Amount() => new("amount")
    {
        Description = "How much, such as 4.20 or 4,20.",
        CustomParser = typed =>
        {
            var amount = Figures.Read(typed.Tokens[0].Value, out var fault);
            if (fault is not null)
                typed.AddError(fault);
            return amount;
        },
    };

    /// <summary>The same where it may be left out.</summary>
    public static Option<decimal?> AmountOption(string name, string description) => new(name)
    {
        Description = description,
        HelpName = "amount",
        CustomParser = typed =>
        {
            var amount = Figures.Read(typed.Tokens[0].Value, out var fault);
            if (fault is not null)
                typed.AddError(fault);
            return amount;
        },
    };

    /// <summary>What is written beside it.</summary>
    public static Argument<string?> Words() => new("words")
    {
        Description = "What to write beside it.",
        Arity = ArgumentArity.ZeroOrMore,
        CustomParser = typed =>
        {
            // A mistyped option must not become what stands in the book.
            foreach (var option in typed.Tokens.Where(t => t.Value.StartsWith("--", StringComparison.Ordinal)))
                typed.AddError($"\"{option.Value}\" is no option of this command.");
            return typed.Tokens.Count == 0 ? null : string.Join(' ', typed.Tokens.Select(t => t.Value));
        },
    };

    /// <summary>That it is about the bank part.</summary>
    public static Option<bool> Bank(string name = "--bank") => new(name)
    {
        Description = "The part in the bank, and not the cash.",
    };

    /// <summary>Why; it stands in the book.</summary>
    public static Option<string> Reason() => new("--reason")
    {
        Description = "Why; it stands in the book.",
        HelpName = "why",
        Required = true,
    };

    /// <summary>Cash or bank.</summary>
    public static Holding HoldingOf(bool bank) => bank ? Holding.Bank : Holding.Cash;

    /// <summary>A command as it is told later.</summary>
    public static string Said(Session session, string name, params IEnumerable<object?> parts) => string.Join(' ',
        parts.Where(part => part is not null and not "").Select(part => part is decimal amount
            ? session.Figures.Write(amount) : part!.ToString()).Prepend(name));
}
