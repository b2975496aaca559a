namespace CashEvents.Domain.Books;

/// <summary>Lines that were stamped by a clock that was ahead.</summary>
/// <param name="FromLine">The first of them.</param>
/// <param name="ToLine">The last of them.</param>
/// <param name="Line">The line that says so.</param>
public sealed record LinesAhead(long FromLine, long ToLine, long Line);
