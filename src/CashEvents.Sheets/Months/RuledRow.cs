using Microsoft.AspNetCore.Components;

namespace CashEvents.Sheets.Months;

/// <summary>A row of a compartment's sheet.</summary>
/// <param name="Day">Its day, as the reader writes it.</param>
/// <param name="What">What was written beside it, or what it was.</param>
/// <param name="Amount">What it changed, as the reader writes it; empty where it moved nothing.</param>
/// <param name="Balance">What there was after it; empty where that is not to be told.</param>
public sealed record RuledRow(string Day, string What, string Amount, string Balance)
{
    /// <summary>How many rulings it takes on paper, one or more.</summary>
    public int Rulings { get; init; } = 1;

    /// <summary>Words of the style sheet; null for a row like any other.</summary>
    public string? Look { get; init; }

    /// <summary>By what a screen knows the row again.</summary>
    public object? Key { get; init; }

    /// <summary>What stands in the stead of the words, where they can be touched.</summary>
    public RenderFragment? Words { get; init; }

    /// <summary>Rows that belong below it.</summary>
    public RenderFragment? Below { get; init; }
}

/// <summary>A balance between the rows of a sheet.</summary>
/// <param name="Words">Which one.</param>
/// <param name="Amount">As the reader writes it.</param>
/// <param name="Look">Words of the style sheet besides; null for none.</param>
public sealed record RuledBalance(string Words, string Amount, string? Look = null);
