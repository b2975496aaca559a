using FluentValidation;

namespace CashEvents.Api.Books;

/// <summary>What would be if some things were written.</summary>
/// <param name="Suppose">1 to 100 things, supposed one after another.</param>
public sealed record RehearsalRequest(IReadOnlyList<SuppositionRequest>? Suppose);

/// <summary>One thing to suppose: a line reversed, a line amended, a movement recorded, or a payday filled.</summary>
/// <param name="Reverse">Number of a line to reverse.</param>
/// <param name="Amend">Number of a line to amend, with its replacement.</param>
/// <param name="Replacement">The right movement, with its <c>kind</c>.</param>
/// <param name="Record">A movement to record, with its <c>kind</c>.</param>
/// <param name="FillRun">A payday to fill, as it is sent to /fill-runs.</param>
public sealed record SuppositionRequest(long? Reverse, long? Amend, MovementRequest? Replacement,
    MovementRequest? Record, FillRunRequest? FillRun);

internal sealed class RehearsalRequestValidator : AbstractValidator<RehearsalRequest>
{
    public const int MostSuppositions = 100;

    public RehearsalRequestValidator()
    {
        var needed = $"`suppose` lists 1 to {MostSuppositions} things, such as {{\"reverse\": 12}}.";
        RuleFor(r => r.Suppose)
            .NotNull().WithMessage(needed)
            .Must(s => s is { Count: > 0 and <= MostSuppositions }).WithMessage(needed)
            .Custom((suppose, context) =>
            {
                for (var i = 0; i < suppose!.Count; i++)
                {
                    if (!IsOne(suppose[i]))
                    {
                        context.AddFailure($"suppose[{i}]",
                            "Suppose one thing at a time: {\"reverse\": 12}, or {\"amend\": 12, \"replacement\": "
                                + "{\"kind\": \"spend\", ...}}, or {\"record\": {\"kind\": \"spend\", ...}}, or "
                                + "{\"fillRun\": {\"payday\": \"2026-12-01\"}}.");
                    }
                    else if (suppose[i].FillRun?.DryRun is not null)
                    {
                        context.AddFailure($"suppose[{i}].fillRun.dryRun",
                            "A rehearsal writes nothing: leave `dryRun` out.");
                    }
                }
            });
    }

    private static bool IsOne(SuppositionRequest? supposed) => supposed switch
    {
        { Reverse: not null, Amend: null, Replacement: null, Record: null, FillRun: null } => true,
        { Reverse: null, Amend: not null, Replacement: not null, Record: null, FillRun: null } => true,
        { Reverse: null, Amend: null, Replacement: null, Record: not null, FillRun: null } => true,
        { Reverse: null, Amend: null, Replacement: null, Record: null, FillRun: not null } => true,
        _ => false,
    };
}
