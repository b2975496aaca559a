return await CashEventsProgram.RunAsync(args).ConfigureAwait(false);

/// <summary>The program.</summary>
public partial class Program;
