namespace CashEvents.Benchmarks.Explanations;

/// <summary>A line as it was written, and what it should have been.</summary>
internal sealed class WrittenLine(Happened happened)
{
    public IReplacement Said { get; set; } = happened.Said;

    public Happened Happened { get; } = happened;

    public DateOnly On { get; set; } = happened.Written;

    public string By { get; set; } = happened.By;

    /// <summary>Whether it is in the book at all.</summary>
    public bool Left { get; set; }

    /// <summary>Whether it stands for something that happened.</summary>
    public bool Spurious { get; init; }

    public bool Touched { get; set; }

    public long Number { get; set; }
}
