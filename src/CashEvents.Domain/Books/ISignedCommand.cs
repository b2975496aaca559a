namespace CashEvents.Domain.Books;

/// <summary>Asks for something that depends on who writes it.</summary>
public interface ISignedCommand : ICommand
{
    /// <summary>The same, written by the key of this name.</summary>
    ICommand SignedBy(string key);
}

/// <summary>Puts a key's name under what it asks.</summary>
public static class Signing
{
    /// <summary>A command as the key of this name writes it.</summary>
    public static ICommand SignedBy(this ICommand command, string key) =>
        command is ISignedCommand signed ? signed.SignedBy(key) : command;
}
