namespace CashEvents.Store.Books;

/// <summary>What a line says and who wrote it: all that a replay needs.</summary>
/// <param name="Number">Its number.</param>
/// <param name="Kind">Its kind, such as <c>spend</c>.</param>
/// <param name="By">Name of the key that wrote it.</param>
/// <param name="Event">What it says.</param>
internal readonly record struct SaidLine(long Number, string Kind, string By, IBookEvent Event);
