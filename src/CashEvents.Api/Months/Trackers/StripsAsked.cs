namespace CashEvents.Api.Months;

/// <summary>How the strips of trackers are asked for.</summary>
internal sealed class StripsAsked
{
    private readonly Book _book;
    private readonly StripSize _size;
    private readonly int _blank;

    /// <summary>Ruled rows that may be asked for.</summary>
    internal static Bounds Blank { get; } = new(0, 40, TrackerStrips.LeastEmpty);

    /// <summary>Reads what was sent.</summary>
    /// <exception cref="MalformedException">There is no such size, or no such number of rows.</exception>
    public StripsAsked(string? size, string? blank, Book book) => (_book, _size, _blank) =
        (book, SizeOf(size, book.Household!.Currency), (int)Reads.Number(blank, "blank", Blank));

    /// <summary>The size that an address names; a wallet's insert where it names none.</summary>
    /// <exception cref="MalformedException">There is no such size.</exception>
    internal static StripSize SizeOf(string? size, Currency? currency) => size is null ? StripSize.Insert
        : StripSize.Find(size, currency) ?? throw new MalformedException("size",
            $"`size` is one of {string.Join(", ", StripSize.All(currency).Select(one => one.Id))}.");

    /// <summary>The strips of some sheets.</summary>
    /// <param name="http">The request.</param>
    /// <param name="sheets">The sheets.</param>
    /// <param name="line">The last line that they know.</param>
    /// <param name="through">The last day that they know.</param>
    public Task<IResult> PageAsync(HttpContext http, IReadOnlyList<TrackerAnswer> sheets, long line,
        DateOnly through) => PrintedPages.OfAsync<TrackerPage>(http, _book, line, new()
        {
            [nameof(TrackerPage.Sheets)] = sheets,
            [nameof(TrackerPage.Through)] = through,
            [nameof(TrackerPage.Currency)] = _book.Household!.Currency?.Code,
            [nameof(TrackerPage.Size)] = _size,
            [nameof(TrackerPage.Empty)] = _blank,
        });
}

/// <summary>What addresses with strips say of them.</summary>
internal static class StripsDocumented
{
    /// <summary>What a size is.</summary>
    public const string Size = "Of the page: insert, a6, a5, or the size of a note of the household's currency, such "
        + "as note-20. Insert if left out.";

    /// <summary>The parameters by which strips are asked for.</summary>
    public static RouteHandlerBuilder WithStrips(this RouteHandlerBuilder endpoint) => endpoint
        .WithParameter("holding", "Only this holding: cash or bank.", "cash", ParameterForm.Word<Holding>())
        .WithParameter("size", Size, "note-20")
        .WithParameter("blank", "Of the page: so many ruled rows at least are left at a sheet's end, 0 to 40; "
            + $"{TrackerStrips.LeastEmpty} if left out.", "3", ParameterForm.Number(StripsAsked.Blank));
}
