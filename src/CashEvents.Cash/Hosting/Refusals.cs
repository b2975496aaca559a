namespace CashEvents.Cash.Hosting;

/// <summary>Tells why the server did not carry something out.</summary>
internal static class Refusals
{
    /// <summary>Says it: to people in words, to programs as the problem that the server sent.</summary>
    /// <returns>The exit code that goes with it.</returns>
    public static int Tell(Session session, CashEventsProblemException problem)
    {
        session.Remark(session.Form == OutputForm.Json && problem.Code.Length > 0 ? problem.Body : Words(problem));
        return CodeOf(problem);
    }

    /// <summary>What is the matter and the mend, and which field where the words don't name it.</summary>
    public static string Words(CashEventsProblemException problem) => string.Join(Environment.NewLine,
        problem.Errors.SelectMany(field => field.Value.Select(says => $"{field.Key}: {says}"))
            .Where(says => !says.EndsWith(problem.Detail, StringComparison.Ordinal)).Prepend(problem.Detail));

    /// <summary>Why there is no answer.</summary>
    public static string Unreachable(Session session, Exception fault) =>
        $"{session.Connection.Address} can't be reached: {fault.Message}";

    /// <summary>What the program ends with.</summary>
    public static int CodeOf(CashEventsProblemException problem) => problem.Status switch
    {
        401 or 403 or 429 => ExitCode.Key,
        >= 500 => ExitCode.Unreachable,
        _ => ExitCode.Refused,
    };
}
