using System.Text.Json;

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

    /// <summary>Whether it is a fault of what is around the program: the server, this machine, or its user.</summary>
    public static bool IsKnown(Exception fault) => fault is HttpRequestException or JsonException or IOException
        or UnauthorizedAccessException or OperationCanceledException;

    /// <summary>Says why it went no further.</summary>
    /// <returns>The exit code that goes with it.</returns>
    public static int Tell(Session session, Exception fault)
    {
        var (code, says) = fault switch
        {
            HttpRequestException => (ExitCode.Unreachable, Unreachable(session, fault)),
            JsonException => (ExitCode.Unreachable,
                $"{session.Connection.Address} does not answer as CashEvents does: {fault.Message}"),
            OperationCanceledException => (ExitCode.Stopped,
                $"Stopped. What had been typed and is not sent: {Commands.Name} waiting"),
            _ => (ExitCode.Machine, fault.Message),
        };
        session.Remark(says);
        return code;
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
        _ when problem.Code.Length == 0 => ExitCode.Unreachable,
        401 or 403 or 429 => ExitCode.Key,
        >= 500 => ExitCode.Unreachable,
        _ => ExitCode.Refused,
    };
}
